"""Draw the lanes of the strip: pulses, heating, cavity, deposit, removal, film and camera."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from farface.kernel import show_quantity
from farface.report.known_text import show_known
from farface.report.scale import Scale, even_ticks, tick_words
from farface.report.soft import Paint, marked
from farface.report.strip_view import CavitySpan, StripView, cavities_filmed, ends_s, etching_pulses
from farface.report.svg import Point, Svg, element, group, line, polyline, rect, text, way

_COLUMNS: Final = 500  # of a trace; each keeps its lowest and highest value
_CURVE_STEPS: Final = 18


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Hold where a lane stands and the time axis it shares with the others."""

    time: Scale
    top_px: float
    height_px: float

    @property
    def bottom_px(self) -> float:
        """Give the lane's base line."""
        return self.top_px + self.height_px


@dataclass(frozen=True, slots=True, kw_only=True)
class Lane:
    """Describe one lane: its name, a note on its unit or size, and how it is drawn."""

    name: str
    height_px: float
    shown: Callable[[StripView], bool]
    note: Callable[[StripView], str]
    draw: Callable[[StripView, Place], Svg]


def _base(place: Place) -> Svg:
    return line((place.time.start_px, place.bottom_px), (place.time.end_px, place.bottom_px), "grid")


def _pulses(view: StripView, place: Place) -> Svg:
    """Draw a stroke a pulse, with a filled head where a cavity is open: an etching pulse."""
    drawn = [_base(place)]
    for time_s, etches in zip(view.pulse_times_s, etching_pulses(view), strict=True):
        x_px = place.time.at(float(time_s))
        drawn.append(line((x_px, place.bottom_px), (x_px, place.top_px + 8), "accent-line"))
        if etches:
            drawn.append(
                element("path", d=_diamond(x_px, place.top_px + 6, 5.5), class_="ff-accent ff-etching")
            )
    return group(*drawn)


def _diamond(x_px: float, y_px: float, size_px: float) -> str:
    around = ((x_px, y_px - size_px), (x_px + size_px, y_px), (x_px, y_px + size_px), (x_px - size_px, y_px))
    return way(around, closed=True)


def heating_scale(view: StripView, place: Place) -> Scale:
    """Give the scale of the temperature rise, from 0 to a little above trace and threshold."""
    highest = max(float(view.trace_rise_k.max(initial=0.0)), view.threshold_rise_k.value)
    return Scale(low=0.0, high=1.12 * highest, start_px=place.bottom_px, end_px=place.top_px)


def _heating(view: StripView, place: Place) -> Svg:
    """Draw the temperature rise with the threshold, and a star where a cavity ignites."""
    rise = heating_scale(view, place)
    points = [(place.time.at(t), rise.at(v)) for t, v in envelope(view.trace_times_s, view.trace_rise_k)]
    drawn = [_base(place), _threshold(view, place, rise)]
    for tick in even_ticks(0.0, rise.high, 5):
        drawn.append(
            line((place.time.start_px - 4, rise.at(tick)), (place.time.start_px, rise.at(tick)), "hair")
        )
        if 0.0 < tick < 0.85 * rise.high:
            words = f"{tick_words(tick)} K"
            drawn.append(text(place.time.start_px + 3, rise.at(tick) - 3, words, kind="note halo"))
    if points:
        area = [(points[0][0], place.bottom_px), *points, (points[-1][0], place.bottom_px)]
        drawn.append(element("path", d=way(area, closed=True), class_="ff-accent", fill_opacity=0.14))
        drawn.append(polyline(points, "accent-line trace"))
    for time_s in view.ignition_times_s:
        x_px = place.time.at(float(time_s))
        drawn.append(element("path", d=_star(x_px, rise.at(view.threshold_rise_k.value)), class_="ff-glyph"))
    return group(*drawn)


def _threshold(view: StripView, place: Place, rise: Scale) -> Svg:
    """Draw the rise at which a cavity opens: a line if measured, else a band over ± sd."""
    start_px, end_px = place.time.start_px, place.time.end_px

    def band(ends_k: tuple[float, float], fill: dict[str, str | float]) -> Svg:
        top_px, bottom_px = rise.at(ends_k[1]), min(rise.at(ends_k[0]), place.bottom_px)
        return rect(start_px, top_px, end_px - start_px, bottom_px - top_px, **fill)

    def sharp(rise_k: float) -> Svg:
        return line((start_px, rise.at(rise_k)), (end_px, rise.at(rise_k)), "edge")

    known = view.threshold_rise_k
    px_per_k = abs(rise.at(1.0) - rise.at(0.0))
    paint = Paint(kind="ink", name="threshold", opacity=0.32)
    drawn = marked(known, paint, rise.at, band, sharp, px_per_m=px_per_k)
    return group(drawn, class_="ff-threshold")


def _star(x_px: float, y_px: float) -> str:
    """Write a four-pointed star."""
    angles = np.arange(8) * np.pi / 4
    reach = np.where(np.arange(8) % 2 == 0, 8.0, 2.6)
    return way(
        [(x_px + r * np.sin(a), y_px - r * np.cos(a)) for r, a in zip(reach, angles, strict=True)],
        closed=True,
    )


def _cavity(view: StripView, place: Place) -> Svg:
    return group(_base(place), *_humps(view.cavities, place, "ff-bath", _largest_m(view)))


def _largest_m(view: StripView) -> float:
    spans = (*view.cavities, *(view.film_bubbles or ()))
    return max((span.radius_max_m for span in spans), default=0.0)


def _humps(spans: tuple[CavitySpan, ...], place: Place, kind: str, largest_m: float) -> list[Svg]:
    """Draw each cavity's radius over its life, R = R_max (1 - u^2)^(2/5) with u from -1 to 1.

    A published approximation of Rayleigh's collapse, here mirrored for the growth [obreschkow2012].
    """
    shares = -np.cos(np.linspace(0.0, np.pi, 2 * _CURVE_STEPS + 1))
    drawn: list[Svg] = []
    for span in spans:
        height_px = 0.94 * place.height_px * span.radius_max_m / largest_m if largest_m > 0.0 else 0.0
        times_s = span.open_s + (span.close_s - span.open_s) * (shares + 1.0) / 2.0
        heights = place.bottom_px - height_px * np.clip(1.0 - shares**2, 0.0, 1.0) ** 0.4
        points = [(place.time.at(float(t)), float(y)) for t, y in zip(times_s, heights, strict=True)]
        d = way(points, closed=True)
        drawn.append(element("path", d=d, class_=f"{kind} ff-span", fill_opacity=0.5))
        drawn.append(polyline(points, "edge"))
    return drawn


def _deposit(view: StripView, place: Place) -> Svg:
    if view.deposit_times_s is None or view.deposit_loading is None:
        return group()
    scale = _from_zero(view.deposit_loading, place)
    points = [
        (place.time.at(t), scale.at(v)) for t, v in envelope(view.deposit_times_s, view.deposit_loading)
    ]
    return group(_base(place), polyline(points, "edge"))


def _removal(view: StripView, place: Place) -> Svg:
    """Draw a bar a pulse, as high as the glass it removes."""
    if view.removal_m is None:
        return group()
    scale = _from_zero(view.removal_m, place)
    wide_px = float(np.clip(0.25 * _spacing_px(view, place), 1.0, 12.0))
    drawn = [_base(place)]
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


def _film(view: StripView, place: Place) -> Svg:
    """Draw what the film showed: bubbles as curves, flashes as stars."""
    drawn = [_base(place), *_humps(view.film_bubbles or (), place, "ff-vapour", _largest_m(view))]
    for time_s in view.film_flashes_s or ():
        star = _star(place.time.at(time_s), place.bottom_px - 8)
        drawn.append(element("path", d=star, class_="ff-glyph"))
    return group(*drawn)


def _camera(view: StripView, place: Place) -> Svg:
    """Draw a box for each exposure that falls on the time axis."""
    if view.frame_times_s is None:
        return group()
    drawn = [_base(place)]
    exposure_s = view.exposure_s or 0.0
    for start_s in view.frame_times_s:
        left, right = max(float(start_s), place.time.low), min(float(start_s) + exposure_s, place.time.high)
        if right >= left:
            left_px = place.time.at(left)
            box = (left_px, place.top_px, max(1.5, place.time.at(right) - left_px), place.height_px)
            drawn.append(rect(*box, class_="ff-muted ff-exposure", fill_opacity=0.75))
    return group(*drawn)


def envelope(times_s: NDArray[np.float64], values: NDArray[np.float64]) -> list[Point]:
    """Thin a trace to at most two points a column, its lowest and its highest, so that no peak is lost."""
    order = np.argsort(times_s, kind="stable")
    times, kept = times_s[order], values[order]
    if times.size <= 2 * _COLUMNS:
        return list(zip(times.tolist(), kept.tolist(), strict=True))
    points: list[Point] = []
    for part in np.array_split(np.arange(times.size), _COLUMNS):
        ends = sorted({int(part[np.argmin(kept[part])]), int(part[np.argmax(kept[part])])})
        points.extend((float(times[k]), float(kept[k])) for k in ends)
    return points


def _up_to(values: NDArray[np.float64] | None, dimension: str) -> str:
    highest = 0.0 if values is None else float(values.max(initial=0.0))
    return show_quantity(highest, dimension, digits=2)


def _camera_note(view: StripView) -> str:
    seen = f"sees {cavities_filmed(view)} of {len(view.cavities)} cavities"
    return f"{show_quantity(view.exposure_s or 0.0, 's', digits=2)} exposures, {seen}"


def _heating_note(view: StripView) -> str:
    return f"vapour from {show_known(view.threshold_rise_k, 'K')} on, {view.threshold_rise_k.how}"


def _pulses_note(view: StripView) -> str:
    return f"{int(etching_pulses(view).sum())} of {view.pulse_times_s.size} meet an open cavity"


LANES: Final = (
    Lane(name="pulses", height_px=44, shown=lambda view: True, note=_pulses_note, draw=_pulses),
    Lane(
        name="heating",
        height_px=124,
        shown=lambda view: True,
        note=_heating_note,
        draw=_heating,
    ),
    Lane(
        name="cavity",
        height_px=64,
        shown=lambda view: True,
        note=lambda view: f"radius, up to {show_quantity(_largest_m(view), 'm', digits=2)}",
        draw=_cavity,
    ),
    Lane(
        name="seen on film",
        height_px=52,
        shown=lambda view: view.film_flashes_s is not None or view.film_bubbles is not None,
        note=lambda view: "bubbles and flashes",
        draw=_film,
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
        note=lambda view: f"up to {_up_to(view.removal_m, 'm')} a pulse",
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
