"""Draw one bubble's radius frame by frame, with the curve of an empty cavity of its life."""

from typing import Final

import numpy as np
from numpy.typing import NDArray

from farface.footage.life import measure_life
from farface.kernel import show_quantity
from farface.materials.bubble_life import radius_share
from farface.records import Bubble, FilmScale
from farface.report.content import Picture
from farface.report.labels import heading, paragraph, wrapped
from farface.report.look import Canvas, canvas
from farface.report.plot import Plot
from farface.report.svg import document, element, line, polyline

_SAMPLES: Final = 160
_HEIGHT_PX: Final = 230.0
_LEGEND: Final = (
    "Dots: read in each frame, the bar is its exposure. "
    "Line: an empty cavity of this life and largest radius."
)


def curve_picture(bubble: Bubble, number: int, scale: FilmScale, *, invented: bool) -> Picture:
    """Draw the curve of a bubble."""
    return Picture(
        caption=curve_caption(bubble, number, scale),
        svg=_curve(bubble, number, scale, canvas(narrow=False), invented),
        narrow_svg=_curve(bubble, number, scale, canvas(narrow=True), invented),
    )


def opened_s(bubble: Bubble, scale: FilmScale) -> float:
    """Give the time at which the fitted life begins."""
    fitted = measure_life(np.array(bubble.times_s), np.array(bubble.radii_m), frame_s=1.0 / scale.frame_hz)
    return fitted.opened_s + 0.5 * (fitted.life_s - bubble.life_s)


def misfit_m(bubble: Bubble, scale: FilmScale) -> float:
    """Give the root mean square of what the curve leaves between it and the radii that were read."""
    expected = _radii_m(bubble, scale, np.array(bubble.times_s))
    return float(np.sqrt(np.mean((np.array(bubble.radii_m) - expected) ** 2)))


def curve_caption(bubble: Bubble, number: int, scale: FilmScale) -> str:
    """Say what to conclude from the curve."""
    size, life = show_quantity(bubble.radius_max_m, "m"), show_quantity(bubble.life_s, "s")
    below = show_quantity(bubble.below_m, "m")
    told = f"Bubble {number} grew to {size} and lived {life}, {below} below the face."
    if len(bubble.times_s) < 3:
        shown = f"Only {len(bubble.times_s)} of the frames show it"
        return f"{told} {shown}: its size is a lower bound and its life wrong by up to a frame."
    misfit = show_quantity(misfit_m(bubble, scale), "m", digits=2)
    return f"{told} The curve passes the frames within {misfit} (rms)."


def _radii_m(bubble: Bubble, scale: FilmScale, times_s: NDArray[np.float64]) -> NDArray[np.float64]:
    phase = (times_s - opened_s(bubble, scale)) / bubble.life_s
    return bubble.radius_max_m * radius_share(phase)


def _curve(bubble: Bubble, number: int, scale: FilmScale, on: Canvas, invented: bool) -> str:
    head, top_px = heading(f"Bubble {number}: radius in time", invented=invented, calibrated=True, on=on)
    start_s = opened_s(bubble, scale)
    low_s, high_s = min(start_s, bubble.times_s[0]), max(start_s + bubble.life_s, bubble.times_s[-1])
    spare_s = 0.08 * (high_s - low_s)
    left = on.margin_px + 44
    highest_um = 1.12e6 * max(bubble.radius_max_m, *bubble.radii_m)
    plot = Plot.of(
        (left, top_px + 30, on.width_px - on.margin_px - left, _HEIGHT_PX),
        (-1e6 * spare_s, 1e6 * (high_s - low_s + spare_s)), (0.0, highest_um),
    )  # fmt: skip
    # Closer together where it opens and closes, which it does steeply.
    times_s = start_s + bubble.life_s * 0.5 * (1.0 - np.cos(np.linspace(0.0, np.pi, _SAMPLES)))
    along = zip(1e6 * (times_s - low_s), 1e6 * _radii_m(bubble, scale, times_s), strict=True)
    half_us = 0.5e6 * scale.exposure_s
    dots = []
    for time_s, radius_m in zip(bubble.times_s, bubble.radii_m, strict=True):
        x, y = 1e6 * (time_s - low_s), 1e6 * radius_m
        dots.append(line(plot.point(x - half_us, y), plot.point(x + half_us, y), "hair"))
        dots.append(element("circle", cx=plot.point(x, y)[0], cy=plot.point(x, y)[1], r=4.5, class_="ff-ink"))
    lines = wrapped(_LEGEND, "note", on.room_px)
    body = [
        head,
        plot.axes("time since it opened, us", "radius, um", most=6 if on.width_px < 600 else 10),
        polyline([plot.point(x, y) for x, y in along], "accent-line"),
        *dots,
        paragraph(on.margin_px, plot.up.start_px + 58, lines, kind="note"),
    ]
    return document(
        title=f"Radius of bubble {number}", says=curve_caption(bubble, number, scale), width_px=on.width_px,
        height_px=plot.up.start_px + 54 + 16 * len(lines), body=body,
    )  # fmt: skip
