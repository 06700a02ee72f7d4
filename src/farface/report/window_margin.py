"""Draw the margin from runaway: contour lines at 1, 1.5 and 2, and where everything runs away."""

from typing import Final

import numpy as np

from farface.report.contours import Step, contour
from farface.report.svg import Point, Svg, element, group, local, polyline, rect, refer, text
from farface.report.window_grid import Grid, frame, panel_title, points, veil, x_axis, y_axis
from farface.report.window_view import WindowView

# Level and line: what the eye tells apart without colour.
LEVELS: Final = ((1.0, "outline-thin"), (1.5, "edge dash"), (2.0, "edge dots"))


def margin_panel(view: WindowView, grid: Grid) -> Svg:
    """Draw the margin (fluence of runaway over the fluence used) over both settings."""
    prior = "" if view.calibrated else "prior only: "
    title = panel_title(f"{prior}margin from runaway", grid)
    drawn = [_running_away(view, grid)]
    if not view.calibrated:
        drawn.append(veil(grid, "veil-margin"))
    drawn += [*_lines(view, grid), *(_name(view, grid, level) for level, _ in LEVELS), points(view, grid)]
    return group(title, *drawn, frame(grid), x_axis(view.x, grid), y_axis(view.y, grid))


def _running_away(view: WindowView, grid: Grid) -> Svg:
    """Hatch the cells whose margin is below 1."""
    stroke = element("path", d="M0 8L8 0", class_="ff-hair")
    hatch = element(
        "pattern", stroke, id=local("runs-away"), width=8, height=8, patternUnits="userSpaceOnUse"
    )
    wide, high = grid.cell_px
    drawn: list[Svg] = []
    for row, column in np.argwhere(view.margin < 1.0).tolist():
        x_px, y_px = grid.corner(column, row)
        drawn.append(rect(x_px, y_px, wide, high, fill=refer("runs-away")))
    return group(hatch, *drawn, class_="ff-runs-away")


def _place(grid: Grid, step: Step) -> Point:
    return grid.at(*step)


def _lines(view: WindowView, grid: Grid) -> list[Svg]:
    drawn: list[Svg] = []
    for level, kind in LEVELS:
        for chain in contour(view.margin, level):
            drawn.append(polyline([_place(grid, step) for step in chain], f"{kind} margin"))
    return drawn


def _name(view: WindowView, grid: Grid, level: float) -> Svg:
    """Write a level's number on the middle of its longest line."""
    chains = contour(view.margin, level)
    if not chains:
        return group()
    longest = max(chains, key=len)
    x_px, y_px = _place(grid, longest[len(longest) // 2])
    x_px = min(max(x_px, grid.left_px + 14), grid.right_px - 14)
    return text(x_px, y_px + 4, f"{level:g}", kind="note ink halo", anchor="middle")
