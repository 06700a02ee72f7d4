"""Draw what was learned: each unknown's prior beside its posterior, relative to the prior's median."""

import math
from dataclasses import dataclass
from typing import Final

from farface.kernel import Malformed, show_number
from farface.report.labels import heading, paragraph, wrapped
from farface.report.look import canvas
from farface.report.scale import Scale
from farface.report.svg import Svg, document, group, line, rect, text

# An unknown whose band is still wider (in its logarithm) than this share of the prior's was hardly narrowed.
# It is the share at which the verdict beside it says 'narrowed'.
HARDLY_SHARE: Final = 0.85
_TICKS: Final = (0.01, 0.03, 0.1, 0.3, 1.0, 3.0, 10.0, 30.0, 100.0)
_REACH: Final = 100.0  # the axis spans at most this factor to each side


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    """Hold a median and the ends of its 90 % band, all positive, in the row's unit."""

    low: float
    median: float
    high: float


@dataclass(frozen=True, slots=True, kw_only=True)
class LearnedRow:
    """Hold one unknown: its name, what it means in plain words, its unit, and its bands before and after."""

    name: str
    meaning: str
    unit: str
    prior: Band
    posterior: Band


@dataclass(frozen=True, slots=True, kw_only=True)
class LearnedView:
    """Hold what one fit taught."""

    title: str
    invented: bool
    rows: tuple[LearnedRow, ...]


def learned_svg(view: LearnedView, *, narrow: bool = False) -> str:
    """Draw a pair of bars an unknown on a logarithmic axis where 1 is the prior's median.

    Raises `Malformed` for a band that is not positive or not in order.
    """
    for row in view.rows:
        _check(row)
    on = canvas(narrow=narrow)
    head, y_px = heading(view.title, invented=view.invented, calibrated=True, on=on)
    reach = _reach(view)
    ends = (on.margin_px + 4, on.width_px - on.margin_px - 4) if narrow else (316.0, 724.0)
    scale = Scale(low=1.0 / reach, high=reach, start_px=ends[0], end_px=ends[1], logarithmic=True)
    top_px = y_px
    drawn: list[Svg] = []
    for row in view.rows:
        shown, height_px = _row(row, scale, y_px, on.margin_px, narrow=narrow)
        drawn.append(shown)
        y_px += height_px
    says = learned_caption(view)
    legend = wrapped(_LEGEND, "note", on.room_px)
    body = [head, _axis(scale, top_px, y_px), *drawn, paragraph(on.margin_px, y_px + 60, legend, kind="note")]
    height_px = y_px + 60 + 16 * len(legend)
    return document(
        title=f"Learned: {view.title}", says=says, width_px=on.width_px, height_px=height_px, body=body
    )


_LEGEND: Final = (
    "Outlined bar: before, the prior's 90 % band. Filled bar: after, the posterior's 90 % band. "
    "Strokes: medians."
)


def learned_share(row: LearnedRow) -> float:
    """Give by how much the band shrank: 1 - ln(high/low) after over ln(high/low) before."""
    before = math.log(row.prior.high / row.prior.low)
    after = math.log(row.posterior.high / row.posterior.low)
    return 1.0 - after / before


def _check(row: LearnedRow) -> None:
    for when, band in (("prior", row.prior), ("posterior", row.posterior)):
        if not 0.0 < band.low < band.high < math.inf or not band.low <= band.median <= band.high:
            raise Malformed(
                f"the {when} of {row.name} runs from {band.low:g} by {band.median:g} to {band.high:g}; "
                "a band needs positive values in rising order. Compute the fit again."
            )


def _reach(view: LearnedView) -> float:
    """Choose how far the axis reaches: the widest band, to the next tick, at most a hundredfold."""
    widest = 3.0
    for row in view.rows:
        for value in (row.prior.low, row.prior.high, row.posterior.low, row.posterior.high):
            ratio = value / row.prior.median
            widest = max(widest, ratio, 1.0 / ratio)
    return min(_REACH, 1.1 * widest)


def _axis(scale: Scale, top_px: float, bottom_px: float) -> Svg:
    drawn: list[Svg] = []
    for tick in _TICKS:
        if scale.low <= tick <= scale.high:
            x_px = scale.at(tick)
            drawn.append(line((x_px, top_px), (x_px, bottom_px), "hair" if tick == 1.0 else "grid"))
            drawn.append(text(x_px, bottom_px + 16, f"× {tick:g}", kind="note", anchor="middle"))
    middle_px = scale.at(1.0)
    drawn.append(
        text(middle_px, bottom_px + 34, "relative to the prior's median", kind="note", anchor="middle")
    )
    return group(*drawn, class_="ff-axis")


def _row(row: LearnedRow, scale: Scale, y_px: float, margin_px: float, *, narrow: bool) -> tuple[Svg, float]:
    """Draw one unknown's words and bars; give them with the height they take."""
    room_px = scale.end_px - margin_px if narrow else scale.start_px - margin_px - 16
    meaning = wrapped(row.meaning, "note", room_px)
    name = text(margin_px, y_px + 18, row.name, kind="label halo")
    words = group(name, paragraph(margin_px, y_px + 35, meaning, kind="note halo"))
    after, before = _said(row.posterior, row.unit), f"was {_said(row.prior, row.unit)}"
    if narrow:
        bars_px = y_px + 41 + 16 * len(meaning)
        values = (
            text(scale.end_px, y_px + 18, after, kind="label halo", anchor="end"),
            text(scale.end_px, bars_px + 29, before, kind="note halo", anchor="end"),
        )
        return group(words, *_bars(row, scale, bars_px), *values), bars_px - y_px + 42
    right_px = scale.end_px + 16
    values = (text(right_px, y_px + 20, after), text(right_px, y_px + 38, before, kind="note"))
    height_px = max(62.0, 40.0 + 16 * len(meaning))
    return group(words, *_bars(row, scale, y_px + 22), *values), height_px


def _bars(row: LearnedRow, scale: Scale, y_px: float) -> list[Svg]:
    """Draw the prior as an outlined bar and the posterior as a filled one below it, each with its median."""
    drawn: list[Svg] = []
    pairs = ((row.prior, -11.0, 9.0, "ff-hair ff-prior"), (row.posterior, 3.0, 9.0, "ff-accent ff-posterior"))
    for band, down_px, high_px, kind in pairs:
        left, middle, right = (
            _clamped(scale, v / row.prior.median) for v in (band.low, band.median, band.high)
        )
        drawn.append(rect(left, y_px + down_px, max(2.0, right - left), high_px, rx=2, class_=kind))
        ends = (middle, y_px + down_px - 2), (middle, y_px + down_px + high_px + 2)
        drawn.append(line(*ends, "edge"))
    return drawn


def _clamped(scale: Scale, ratio: float) -> float:
    return scale.at(min(max(ratio, scale.low), scale.high))


def _said(band: Band, unit: str) -> str:
    low, median, high = (show_number(value, 2) for value in (band.low, band.median, band.high))
    return f"{median} ({low} to {high}) {unit}".rstrip()


def learned_caption(view: LearnedView) -> str:
    """Say what the plates taught most about, and what they could not teach."""
    ranked = sorted(view.rows, key=lambda row: -learned_share(row))
    taught = [row.name for row in ranked if learned_share(row) > 1.0 - HARDLY_SHARE]
    hardly = [row.name for row in ranked if row.name not in taught]
    parts = []
    if taught:
        parts.append(f"The plates taught most about {' and '.join(taught[:2])}.")
    if hardly:
        parts.append(
            f"They taught little or nothing about {', '.join(hardly)}: these still rest on the prior."
        )
    return " ".join(parts) or "Nothing was fitted."
