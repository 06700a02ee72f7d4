"""Draw a film's events along its time: every bubble's life at its depth, every flash on the face's line."""

from typing import Final

from farface.kernel import show_quantity
from farface.records import Bubble, FilmReading
from farface.report.content import Picture
from farface.report.labels import heading, paragraph, wrapped
from farface.report.look import Canvas, canvas
from farface.report.plot import Plot
from farface.report.scale import even_ticks, tick_words
from farface.report.svg import Svg, document, group, line, polyline, rect, text

# A picture with more marks than this is neither quick nor legible.
MOST_BUBBLES: Final = 1200
MOST_FLASHES: Final = 1200
_HEIGHT_PX: Final = 250.0
_LEGEND: Final = (
    "Bar: a bubble, from opening to collapse, at the depth of its middle; thicker is larger. "
    "Diamond: a flash, at whatever depth."
)


def timeline_picture(reading: FilmReading, *, invented: bool, chosen: int | None = None) -> Picture:
    """Draw the timeline; the bubble numbered ``chosen`` stands out."""
    return Picture(
        caption=timeline_caption(reading),
        svg=_timeline(reading, canvas(narrow=False), invented, chosen),
        narrow_svg=_timeline(reading, canvas(narrow=True), invented, chosen),
    )


def timeline_caption(reading: FilmReading) -> str:
    """Say what to conclude from the timeline."""
    bubbles, flashes = reading.bubbles, reading.flashes
    if not bubbles and not flashes:
        return "Nothing happens in this film that can be read."
    parts = [
        f"{len(bubbles)} bubbles and {len(flashes)} flashes in {show_quantity(reading.duration_s, 's')}."
    ]
    if bubbles:
        open_share = sum(one.life_s for one in bubbles) / reading.duration_s
        parts.append(f"On average {open_share:.2g} bubbles are open at a time.")
        near = sum(one.below_m < one.radius_max_m for one in bubbles) / len(bubbles)
        parts.append(f"{100 * near:.0f} % of them touch the face at their largest: only these can etch it.")
    return " ".join(parts)


def _timeline(reading: FilmReading, on: Canvas, invented: bool, chosen: int | None) -> str:
    head, top_px = heading(f"{reading.film}: events in time", invented=invented, calibrated=True, on=on)
    plot = _plot(reading, on, top_px + 30)
    shown = sorted(range(len(reading.bubbles)), key=lambda k: -reading.bubbles[k].radius_max_m)[:MOST_BUBBLES]
    widest = max((one.radius_max_m for one in reading.bubbles), default=1.0)
    bars = [_bar(plot, reading.bubbles[k], k, widest, chosen=k == chosen) for k in shown]
    lit = [_diamond(plot, 1e3 * one.time_s) for one in reading.flashes[:MOST_FLASHES]]
    left_out = len(reading.bubbles) - len(shown) + len(reading.flashes) - len(lit)
    words = _LEGEND + (f" {left_out} more events are not drawn." if left_out else "")
    lines = wrapped(words, "note", on.room_px)
    low = plot.up.start_px
    face = plot.up.at(0.0)
    body = [
        head,
        rect(
            plot.across.start_px,
            face,
            plot.across.end_px - plot.across.start_px,
            low - face,
            class_="ff-bath",
            opacity=0.13,
        ),
        _axes(plot, narrow=on.width_px < 600),
        line((plot.across.start_px, face), (plot.across.end_px, face), "edge"),
        group(*bars, class_="ff-bubbles"),
        group(*lit, class_="ff-flashes"),
        _clickable(plot),
        paragraph(on.margin_px, low + 60, lines, kind="note"),
    ]
    return document(
        title=f"Timeline: {reading.film}", says=timeline_caption(reading), width_px=on.width_px,
        height_px=low + 56 + 16 * len(lines), body=body,
    )  # fmt: skip


def _plot(reading: FilmReading, on: Canvas, top_px: float) -> Plot:
    """Lay out time in ms to the right and depth in um downwards, the face a little below the top."""
    deepest_um = max((1e6 * (one.below_m) for one in reading.bubbles), default=100.0)
    deepest_um = max(1.1 * deepest_um, 10.0)
    left = on.margin_px + 44
    return Plot.of(
        (left, top_px, on.width_px - on.margin_px - left, _HEIGHT_PX),
        (0.0, 1e3 * reading.duration_s), (deepest_um, -0.12 * deepest_um),
    )  # fmt: skip


def _axes(plot: Plot, *, narrow: bool) -> Svg:
    """Draw the axes; depth counts downwards, so its low end is the larger number."""
    left, right, low = plot.across.start_px, plot.across.end_px, plot.up.start_px
    drawn = []
    for tick in even_ticks(0.0, plot.up.low, 5):
        y = plot.up.at(tick)
        drawn += [
            line((left, y), (right, y), "grid"),
            text(left - 7, y + 4, tick_words(tick), kind="note", anchor="end"),
        ]
    for tick in even_ticks(plot.across.low, plot.across.high, 5 if narrow else 11):
        x = plot.across.at(tick)
        drawn += [
            line((x, low), (x, low + 5), "hair"),
            text(x, low + 18, tick_words(tick), kind="note", anchor="middle"),
        ]
    drawn += [
        text(left - 44, plot.up.end_px - 8, "below the face, um", kind="note"),
        text(right, low + 35, "time, ms", kind="note", anchor="end"),
    ]
    return group(*drawn, class_="ff-axes")


def _clickable(plot: Plot) -> Svg:
    """Cover the plot with nothing to see, which tells a page where which time lies."""
    box = (plot.across.start_px, plot.up.end_px)
    size = (plot.across.end_px - plot.across.start_px, plot.up.start_px - plot.up.end_px)
    return rect(*box, *size, class_="ff-none", data_low_ms=plot.across.low, data_high_ms=plot.across.high)


def _bar(plot: Plot, bubble: Bubble, number: int, widest_m: float, *, chosen: bool) -> Svg:
    """Draw a bubble's life as a bar that a click can find by its number."""
    start, end = plot.across.at(1e3 * bubble.first_s), plot.across.at(1e3 * (bubble.first_s + bubble.life_s))
    high = 2.0 + 7.0 * bubble.radius_max_m / widest_m
    y = plot.up.at(1e6 * bubble.below_m)
    return rect(
        start, y - high / 2, max(end - start, 2.5), high, rx=1.2, data_bubble=str(number),
        class_="ff-accent" if chosen else "ff-ink", opacity=1.0 if chosen else 0.62,
    )  # fmt: skip


def _diamond(plot: Plot, time_ms: float) -> Svg:
    x, y = plot.across.at(time_ms), plot.up.at(0.5 * plot.up.high)
    return polyline(((x, y - 6), (x + 2.6, y), (x, y + 6), (x - 2.6, y)), "accent", closed=True)
