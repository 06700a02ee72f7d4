"""List the strip's lanes from top to bottom, and draw pulses, deposit, removal and camera."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from farface.kernel import show_quantity
from farface.report.scale import Scale
from farface.report.strip_cavity import cavity, film, largest_m
from farface.report.strip_heating import heating, heating_note
from farface.report.strip_place import Place, base, diamond, envelope
from farface.report.strip_view import StripView, cavities_filmed, ends_s, etching_pulses
from farface.report.svg import Svg, element, group, line, polyline, rect


@dataclass(frozen=True, slots=True, kw_only=True)
class Lane:
    """Describe one lane: its name, a note on its unit or size, and how it is drawn."""

    name: str
    height_px: float
    shown: Callable[[StripView], bool]
    note: Callable[[StripView], str]
    draw: Callable[[StripView, Place], Svg]


def _pulses(view: StripView, place: Place) -> Svg:
    """Draw a stroke a pulse, with a filled head where a cavity is open: an etching pulse."""
    drawn = [base(place)]
    for time_s, etches in zip(view.pulse_times_s, etching_pulses(view), strict=True):
        x_px = place.time.at(float(time_s))
        drawn.append(line((x_px, place.bottom_px), (x_px, place.top_px + 8), "accent-line"))
        if etches:
            drawn.append(
                element("path", d=diamond(x_px, place.top_px + 6, 5.5), class_="ff-accent ff-etching")
            )
    return group(*drawn)


def _deposit(view: StripView, place: Place) -> Svg:
    if view.deposit_times_s is None or view.deposit_loading is None:
        return group()
    scale = _from_zero(view.deposit_loading, place)
    points = [
        (place.time.at(t), scale.at(v)) for t, v in envelope(view.deposit_times_s, view.deposit_loading)
    ]
    return group(base(place), polyline(points, "edge"))


def _removal(view: StripView, place: Place) -> Svg:
    """Draw a bar a pulse, as high as the glass it removes."""
    if view.removal_m is None:
        return group()
    scale = _from_zero(view.removal_m, place)
    wide_px = float(np.clip(0.25 * _spacing_px(view, place), 1.0, 12.0))
    drawn = [base(place)]
    for time_s, removed_m in zip(view.pulse_times_s, view.removal_m, strict=True):
        top_px = scale.at(float(removed_m))
        x_px = place.time.at(float(time_s)) - wide_px / 2
        drawn.append(rect(x_px, top_px, wide_px, place.bottom_px - top_px, class_="ff-ink ff-removed"))
    return group(*drawn)


def _spacing_px(view: StripView, place: Place) -> float:
    gaps_s = np.diff(np.sort(view.pulse_times_s))
    least_s = float(gaps_s.min()) if gaps_s.size else place.time.high - place.time.low
    return least_s * (place.time.end_px - place.time.start_px) / (place.time.high - place.time.low)


def _from_zero(values: NDArray[np.float64], place: Place) -> Scale:
    highest = float(values.max(initial=0.0))
    top = highest if highest > 0.0 else 1.0
    return Scale(low=0.0, high=1.05 * top, start_px=place.bottom_px, end_px=place.top_px)


def _camera(view: StripView, place: Place) -> Svg:
    """Draw a box for each exposure that falls on the time axis."""
    if view.frame_times_s is None:
        return group()
    drawn = [base(place)]
    exposure_s = view.exposure_s or 0.0
    for start_s in view.frame_times_s:
        left, right = max(float(start_s), place.time.low), min(float(start_s) + exposure_s, place.time.high)
        if right >= left:
            left_px = place.time.at(left)
            box = (left_px, place.top_px, max(1.5, place.time.at(right) - left_px), place.height_px)
            drawn.append(rect(*box, class_="ff-muted ff-exposure", fill_opacity=0.75))
    return group(*drawn)


def _up_to(values: NDArray[np.float64] | None, dimension: str) -> str:
    highest = 0.0 if values is None else float(values.max(initial=0.0))
    return show_quantity(highest, dimension, digits=2)


def _removal_note(view: StripView) -> str:
    if view.removal_m is None or not np.any(view.removal_m > 0.0):
        return "none"
    return f"up to {_up_to(view.removal_m, 'm')} a pulse"


def _camera_note(view: StripView) -> str:
    seen = f"sees {cavities_filmed(view)} of {len(view.cavities)} cavities"
    return f"{show_quantity(view.exposure_s or 0.0, 's', digits=2)} exposures, {seen}"


def _pulses_note(view: StripView) -> str:
    return f"{int(etching_pulses(view).sum())} of {view.pulse_times_s.size} meet an open cavity"


LANES: Final = (
    Lane(name="pulses", height_px=44, shown=lambda view: True, note=_pulses_note, draw=_pulses),
    Lane(
        name="heating",
        height_px=124,
        shown=lambda view: True,
        note=heating_note,
        draw=heating,
    ),
    Lane(
        name="cavity",
        height_px=64,
        shown=lambda view: True,
        note=lambda view: f"radius, up to {show_quantity(largest_m(view), 'm', digits=2)}",
        draw=cavity,
    ),
    Lane(
        name="seen on film",
        height_px=52,
        shown=lambda view: view.film_flashes_s is not None or view.film_bubbles is not None,
        note=lambda view: "bubbles and flashes",
        draw=film,
    ),
    Lane(
        name="deposit",
        height_px=46,
        shown=lambda view: view.deposit_loading is not None,
        note=lambda view: f"optical depth, up to {_up_to(view.deposit_loading, '1')}",
        draw=_deposit,
    ),
    Lane(
        name="removal",
        height_px=46,
        shown=lambda view: view.removal_m is not None,
        note=_removal_note,
        draw=_removal,
    ),
    Lane(
        name="camera",
        height_px=22,
        shown=lambda view: view.frame_times_s is not None,
        note=_camera_note,
        draw=_camera,
    ),
)


def time_scale(view: StripView, start_px: float, end_px: float) -> Scale:
    """Give the time axis that all lanes share."""
    first_s, last_s = ends_s(view)
    return Scale(low=first_s, high=last_s, start_px=start_px, end_px=end_px)
