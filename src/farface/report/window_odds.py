"""Draw the odds: each cell's most likely outcome by mark and colour, paler where it is less sure."""

import math
from typing import Final

import numpy as np

from farface.records import SEEN
from farface.report.outcome_marks import marks, outline_way
from farface.report.svg import Svg, element, group, number
from farface.report.window_grid import (
    Grid,
    frame,
    panel_title,
    points,
    prior_words,
    runs,
    veil,
    x_axis,
    y_axis,
)
from farface.report.window_view import STEADY, WindowView, likeliest

_MARK_EVERY_PX: Final = 24.0
_MARK_PX: Final = 10.0
# Odds are shown in steps, from barely tinted at a sixth (all outcomes alike) to full colour at certainty.
_SHADES: Final = 10
_PALEST: Final = 0.12


def odds_panel(view: WindowView, grid: Grid) -> Svg:
    """Draw the map of outcomes with the steady region outlined, veiled while uncalibrated."""
    drawn = [_cells(view, grid)]
    if view.calibrated:
        drawn += [_marks(view, grid), _steady_outline(view, grid, "outline")]
    else:
        faint = group(_marks(view, grid), opacity=0.6)
        drawn += [veil(grid, "veil-odds"), faint, _steady_outline(view, grid, "edge dash"), prior_words(grid)]
    drawn += [points(view, grid), frame(grid)]
    title = panel_title("most likely outcome; paler is less sure", grid)
    return group(title, *drawn, x_axis(view.x, grid), y_axis(view.y, grid), class_="ff-odds")


def shade(odds: float) -> float:
    """Give the opacity for the odds of the most likely outcome, in steps."""
    sure = max(0.0, (odds - 1.0 / len(SEEN)) / (1.0 - 1.0 / len(SEEN)))
    return round(_PALEST + (1.0 - _PALEST) * round(_SHADES * sure) / _SHADES, 3)


def _cells(view: WindowView, grid: Grid) -> Svg:
    """Draw all cells of one colour and shade as one shape; equal neighbours in a row are joined."""
    top = likeliest(view)
    wide, high = grid.cell_px
    ways: dict[tuple[str, float], list[str]] = {}
    for row in range(grid.rows):
        cells = [
            (SEEN[top[row, k]], shade(float(view.odds[row, k, top[row, k]]))) for k in range(grid.columns)
        ]
        for first, count, look in runs(cells):
            x, y = (number(v) for v in grid.corner(first, row))
            ways.setdefault(look, []).append(f"M{x} {y}h{number(count * wide)}v{number(high)}H{x}z")
    shapes = (
        element("path", d="".join(parts), class_=f"ff-{seen}", fill_opacity=opacity)
        for (seen, opacity), parts in ways.items()
    )
    return group(*shapes, class_="ff-cells", shape_rendering="crispEdges")


def _marks(view: WindowView, grid: Grid) -> Svg:
    """Draw marks in every cell, or every few cells where cells are small."""
    top = likeliest(view)
    step_x, step_y = (max(1, math.ceil(_MARK_EVERY_PX / px)) for px in grid.cell_px)
    rows = range(step_y // 2, grid.rows, step_y)
    columns = range(step_x // 2, grid.columns, step_x)
    places = [(int(top[r, c]), grid.at(c, r)) for r in rows for c in columns]
    return group(
        *(marks(seen, [at for k, at in places if k == index], _MARK_PX) for index, seen in enumerate(SEEN))
    )


def _steady_outline(view: WindowView, grid: Grid, kind: str) -> Svg:
    steady = np.flipud(likeliest(view) == STEADY)
    left = [grid.corner(k, 0)[0] for k in range(grid.columns + 1)]
    top = [grid.top_px + k * grid.cell_px[1] for k in range(grid.rows + 1)]
    d = outline_way(steady.tolist(), left, top)
    classes = " ".join(f"ff-{name}" for name in (*kind.split(), "steady-outline"))
    return element("path", d=d, class_=classes) if d else group()
