"""Draw the window: odds of each outcome, depth per pass and margin from runaway over two settings."""

import math

import numpy as np

from farface.kernel import show_quantity
from farface.records import SEEN
from farface.report.labels import heading, paragraph, wrapped
from farface.report.look import SEEN_WORDS, canvas
from farface.report.outcome_marks import marks_legend
from farface.report.svg import document, group
from farface.report.window_depth import depth_note, depth_panel
from farface.report.window_grid import TICK_ROOM_PX, Grid
from farface.report.window_margin import margin_panel
from farface.report.window_odds import odds_panel
from farface.report.window_view import (
    STEADY,
    ChosenPoint,
    WindowAxis,
    WindowView,
    best_cell,
    checked,
    likeliest,
)

__all__ = ["ChosenPoint", "WindowAxis", "WindowView", "window_caption", "window_svg"]

_HATCH_NOTE = "Margin: hatched below 1, where it runs away; lines at 1 (solid), 1.5 (dashed), 2 (dotted)."


def window_svg(view: WindowView, *, narrow: bool = False) -> str:
    """Draw the window as SVG, three panels side by side or, ``narrow`` for a phone, below each other.

    Raises `Malformed` when arrays and axes do not fit together.
    """
    checked(view)
    on = canvas(narrow=narrow)
    head, top_px = heading(view.title, invented=view.invented, calibrated=view.calibrated, on=on)
    odds, depth, margin, legend_px = _layout(view, top_px + 22, narrow=narrow)
    legend, legend_high = marks_legend(on.margin_px, legend_px, on.room_px)
    notes = f"Outline: steady is the most likely. {depth_note(view)} {_HATCH_NOTE}"
    lines = wrapped(notes, "note", on.room_px)
    bottom_px = max(legend_px + legend_high, margin.bottom_px + 50)
    body = [
        head,
        odds_panel(view, odds),
        group(depth_panel(view, depth), class_="ff-depth"),
        group(margin_panel(view, margin), class_="ff-margins"),
        legend,
        paragraph(on.margin_px, bottom_px + 12, lines, kind="note"),
    ]
    height_px = bottom_px + 16 * len(lines) + 12
    title, says = f"Window: {view.title}", window_caption(view)
    return document(title=title, says=says, width_px=on.width_px, height_px=height_px, body=body)


def _layout(view: WindowView, top_px: float, *, narrow: bool) -> tuple[Grid, Grid, Grid, float]:
    """Lay out the three panels; give them and where the legend of marks starts."""
    cells = {"columns": len(view.x.values), "rows": len(view.y.values)}

    def panel(left: float, top: float, width: float, height: float) -> Grid:
        return Grid(left_px=left + TICK_ROOM_PX, top_px=top, width_px=width, height_px=height, **cells)

    if narrow:
        odds = panel(4, top_px, 318, 290)
        legend_px = odds.bottom_px + 66
        depth = panel(4, legend_px + 96, 318, 170)
        return odds, depth, panel(4, depth.bottom_px + 82, 318, 220), legend_px
    odds = panel(12, top_px, 500, 436)
    depth = panel(600, top_px, 324, 176)
    return odds, depth, panel(600, depth.bottom_px + 84, 324, 176), odds.bottom_px + 64


def window_caption(view: WindowView) -> str:
    """Say what to conclude from the window."""
    row, column = best_cell(view)
    best = float(view.odds[row, column, STEADY])
    at = _setting(view, row, column)
    share = float(np.mean(likeliest(view) == STEADY))
    if share > 0.0:
        parts = [f"Steady etching is the most likely outcome on {share:.0%} of this map."]
    else:
        other = SEEN_WORDS[SEEN[int(np.argmax(view.odds[row, column]))]]
        parts = [f"Steady etching is nowhere the most likely outcome; at its best place {other} is likelier."]
    parts.append(f"Its best odds are {best:.0%}, at {at}{_depth_there(view, row, column)}.")
    margin = float(view.margin[row, column])
    if math.isfinite(margin):
        parts.append(f"The margin from runaway there is {margin:.2g}.")
    if not view.calibrated:
        parts.append("Not calibrated, prior only: run a coupon before trusting any of it.")
    return " ".join(parts)


def _setting(view: WindowView, row: int, column: int) -> str:
    x, y = view.x.values[column], view.y.values[row]
    return (
        f"{view.x.name} {x:.3g} {view.x.unit}".rstrip() + f" and {view.y.name} {y:.3g} {view.y.unit}".rstrip()
    )


def _depth_there(view: WindowView, row: int, column: int) -> str:
    depths = [float(a[row, column]) for a in (view.depth_median_m, view.depth_low_m, view.depth_high_m)]
    if not all(math.isfinite(d) for d in depths):
        return ""
    median, low, high = (show_quantity(d, "m", digits=2) for d in depths)
    return f", with {median} a pass ({low} to {high})"
