"""Draw depth per pass along one setting, with its band, for one value of the other."""

from typing import Final

import numpy as np

from farface.kernel import show_quantity
from farface.report.scale import Scale, decade_ticks
from farface.report.svg import Svg, element, group, line, polyline, text, way
from farface.report.window_grid import Grid, frame, index_of, panel_title, veil, x_axis
from farface.report.window_view import WindowView, best_cell

_DECADES_SHOWN: Final = 3.0


def depth_row(view: WindowView) -> int:
    """Give the row shown with its band: that of the first chosen point, or else the best odds of steady."""
    if view.points:
        return round(index_of(view.y, view.points[0].y))
    return best_cell(view)[0]


def depth_panel(view: WindowView, grid: Grid) -> Svg:
    """Draw depth per pass against the x setting: one row with its 90 % band, the outer rows as thin lines."""
    row = depth_row(view)
    at = f"{view.y.name} {view.y.values[row]:.3g} {view.y.unit}".strip()
    prior = "" if view.calibrated else "prior only: "
    title = panel_title(f"{prior}depth per pass at {at}", grid)
    scale = _depth_scale(view, row, grid)
    if scale is None:
        said = text(grid.left_px + 12, grid.top_px + 28, "no depth expected anywhere", kind="note")
        return group(title, said, frame(grid), x_axis(view.x, grid))
    drawn = [_ticks(scale, grid), _band(view, row, scale, grid)]
    if not view.calibrated:
        drawn.append(veil(grid, "veil-depth"))
    drawn += [*_others(view, row, scale, grid), _median(view, row, scale, grid, "accent-line")]
    return group(title, *drawn, frame(grid), x_axis(view.x, grid))


def _depth_scale(view: WindowView, row: int, grid: Grid) -> Scale | None:
    """Choose a logarithmic scale for the row's band, or None where no depth is positive."""
    shown = np.concatenate([view.depth_high_m[row], view.depth_median_m[row], view.depth_low_m[row]])
    shown = shown[np.isfinite(shown) & (shown > 0.0)]
    if shown.size == 0:
        return None
    high = 1.6 * float(shown.max())
    low = max(float(shown.min()) / 1.6, high / 10.0**_DECADES_SHOWN)
    return Scale(low=low, high=high, start_px=grid.bottom_px, end_px=grid.top_px, logarithmic=True)


def _ticks(scale: Scale, grid: Grid) -> Svg:
    drawn: list[Svg] = []
    for tick_m in decade_ticks(scale.low, scale.high, 6):
        y_px = scale.at(tick_m)
        drawn.append(line((grid.left_px, y_px), (grid.right_px, y_px), "grid"))
        words = show_quantity(tick_m, "m", digits=1)
        drawn.append(text(grid.left_px - 5, y_px + 4, words, kind="note", anchor="end"))
    return group(*drawn)


def _band(view: WindowView, row: int, scale: Scale, grid: Grid) -> Svg:
    low, high = (np.maximum(np.nan_to_num(x[row]), 0.0) for x in (view.depth_low_m, view.depth_high_m))
    upper = [(grid.at(k, 0)[0], scale.at(float(high[k]))) for k in range(grid.columns)]
    lower = [(grid.at(k, 0)[0], scale.at(float(low[k]))) for k in range(grid.columns)]
    d = way([*upper, *reversed(lower)], closed=True)
    return element("path", d=d, class_="ff-accent ff-band", fill_opacity=0.2)


def _median(view: WindowView, row: int, scale: Scale, grid: Grid, kind: str) -> Svg:
    median = np.maximum(np.nan_to_num(view.depth_median_m[row]), 0.0)
    shown = [k for k in range(grid.columns) if scale.low <= median[k] <= scale.high]
    points = [(grid.at(k, 0)[0], scale.at(float(median[k]))) for k in shown]
    return polyline(points, kind) if len(points) > 1 else group()


def _others(view: WindowView, row: int, scale: Scale, grid: Grid) -> list[Svg]:
    """Draw the medians of the lowest and highest row, dashed and dotted, for comparison."""
    drawn: list[Svg] = []
    for other, kind in ((0, "dots"), (grid.rows - 1, "dash")):
        if other != row:
            drawn.append(_median(view, other, scale, grid, f"hair {kind}"))
    return drawn


def depth_note(view: WindowView) -> str:
    """Say which thin line is which."""
    row, unit = depth_row(view), view.y.unit
    named = ((0, "dotted"), (len(view.y.values) - 1, "dashed"))
    said = [f"{kind}: {view.y.values[k]:.3g} {unit}".strip() for k, kind in named if k != row]
    return f"Depth: band 90 %; thin lines, {', '.join(said)}."
