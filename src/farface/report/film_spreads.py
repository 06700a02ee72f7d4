"""Draw how a film's events spread, and which bubbles the film can show at all."""

from collections.abc import Sequence
from typing import Final

import numpy as np

from farface.kernel import show_quantity
from farface.records import FilmReading
from farface.report.content import Picture
from farface.report.labels import heading, paragraph, wrapped
from farface.report.look import Canvas, canvas
from farface.report.plot import Plot
from farface.report.svg import Svg, document, element, group, line, rect, text

_PANEL_PX: Final = 150.0
_FEWEST: Final = 5
_FOUND_HEIGHT_PX: Final = 220.0


def spreads_picture(reading: FilmReading, *, invented: bool) -> Picture | None:
    """Draw histograms of lives, sizes, depths and times between flashes; None without enough of any."""
    spreads = _spreads(reading)
    if not spreads:
        return None
    says = _spread_caption(spreads)
    return Picture(
        caption=says,
        svg=_histograms(reading, spreads, canvas(narrow=False), invented, says),
        narrow_svg=_histograms(reading, spreads, canvas(narrow=True), invented, says),
    )


def _spreads(reading: FilmReading) -> list[tuple[str, str, list[float]]]:
    """Give name, unit and values of each spread that has enough of them to show."""
    times_s = [one.time_s for one in reading.flashes]
    kinds = (
        ("largest radius", "um", [1e6 * one.radius_max_m for one in reading.bubbles]),
        ("life", "us", [1e6 * one.life_s for one in reading.bubbles]),
        ("depth below the face", "um", [1e6 * one.below_m for one in reading.bubbles]),
        ("time from flash to flash", "us", [1e6 * float(gap) for gap in np.diff(times_s)]),
    )
    return [(name, unit, values) for name, unit, values in kinds if len(values) >= _FEWEST]


def _spread_caption(spreads: Sequence[tuple[str, str, list[float]]]) -> str:
    parts = []
    for name, unit, values in spreads:
        low, middle, high = np.quantile(values, (0.05, 0.5, 0.95))
        parts.append(f"{name} {middle:.3g} {unit} ({low:.3g} to {high:.3g})")
    return f"Median and nine in ten: {'; '.join(parts)}."


def _histograms(
    reading: FilmReading,
    spreads: Sequence[tuple[str, str, list[float]]],
    on: Canvas,
    invented: bool,
    says: str,
) -> str:
    head, top_px = heading(f"{reading.film}: how events spread", invented=invented, calibrated=True, on=on)
    columns = 1 if on.width_px < 600 else 2
    wide_px = on.room_px / columns
    drawn, bottom_px = [head], top_px
    for k, (name, unit, values) in enumerate(spreads):
        left = on.margin_px + (k % columns) * wide_px + 40
        top = top_px + 34 + (k // columns) * (_PANEL_PX + 82)
        drawn.append(_histogram((left, top, wide_px - 62, _PANEL_PX), f"{name}, {unit}", values))
        bottom_px = top + _PANEL_PX + 48
    return document(
        title=f"Spreads: {reading.film}", says=says, width_px=on.width_px, height_px=bottom_px, body=drawn
    )


def _histogram(box_px: tuple[float, float, float, float], words: str, values: Sequence[float]) -> Svg:
    # Values that are all the same, but for rounding, still have a place.
    spare = 0.004 * max(abs(value) for value in values) + 1e-9
    seen = (min(values) - spare, max(values) + spare)
    counts, edges = np.histogram(
        values, bins=min(24, max(6, round(2.0 * len(values) ** (1 / 3)))), range=seen
    )
    plot = Plot.of(box_px, seen, (0.0, 1.1 * float(counts.max())))
    bars = []
    for count, start, end in zip(counts, edges[:-1], edges[1:], strict=True):
        x, y = plot.point(float(start), float(count))
        bars.append(rect(x, y, plot.across.at(float(end)) - x - 1.2, plot.up.start_px - y, class_="ff-bath"))
    middle = plot.across.at(float(np.median(values)))
    marked = line((middle, plot.up.start_px), (middle, plot.up.end_px), "accent-line")
    name = text(middle + 5, plot.up.end_px + 4, "median", kind="note strong halo")
    return group(plot.axes(words, "how many", most=5), *bars, marked, name)


def found_picture(
    found: Sequence[tuple[float, float, float, float]], smallest_m: float | None, film: str, *, invented: bool
) -> Picture:
    """Draw the share of bubbles found again by size; rows of radius in m, share, low and high."""
    says = _found_words(found, smallest_m)
    return Picture(
        caption=says,
        svg=_found(found, film, canvas(narrow=False), invented, says),
        narrow_svg=_found(found, film, canvas(narrow=True), invented, says),
    )


def _found_words(found: Sequence[tuple[float, float, float, float]], smallest_m: float | None) -> str:
    largest = max(found)
    told = (
        "No size that was tried is found more often than not."
        if smallest_m is None
        else f"From a radius of {show_quantity(smallest_m, 'm')} on, the film shows more than half of them."
    )
    shown = f"it shows {100 * largest[1]:.0f} % of those of {show_quantity(largest[0], 'm')}"
    return f"{told} Of drawn bubbles put into the film and read again, {shown}."


def _found(
    found: Sequence[tuple[float, float, float, float]], film: str, on: Canvas, invented: bool, says: str
) -> str:
    head, top_px = heading(f"{film}: which bubbles it shows", invented=invented, calibrated=True, on=on)
    left = on.margin_px + 44
    plot = Plot.of(
        (left, top_px + 30, on.width_px - on.margin_px - left, _FOUND_HEIGHT_PX),
        (0.0, 1.06e6 * max(row[0] for row in found)), (0.0, 100.0),
    )  # fmt: skip
    drawn = [head, plot.axes("largest radius, um", "found again, %", most=6 if on.width_px < 600 else 10)]
    drawn.append(line(plot.point(plot.across.low, 50.0), plot.point(plot.across.high, 50.0), "hair dash"))
    for radius_m, share, low, high in found:
        x, y = plot.point(1e6 * radius_m, 100.0 * share)
        drawn.append(line((x, plot.up.at(100.0 * low)), (x, plot.up.at(100.0 * high)), "edge"))
        drawn.append(element("circle", cx=x, cy=y, r=5, class_="ff-accent"))
    lines = wrapped("Dots: share found again, with its 95 % interval. Dashed: half.", "note", on.room_px)
    drawn.append(paragraph(on.margin_px, plot.up.start_px + 58, lines, kind="note"))
    return document(
        title=f"Bubbles found again: {film}", says=says, width_px=on.width_px,
        height_px=plot.up.start_px + 54 + 16 * len(lines), body=drawn,
    )  # fmt: skip
