"""Draw a part's plan: shapes and passes from above, a cut through the depths, and the depth map."""

import numpy as np
from numpy.typing import NDArray

from farface.app.part_simulation import DepthBand
from farface.part.layouts import distinct_layouts
from farface.part.passes import PartPlan
from farface.part.shapes import Shape, region_of
from farface.report.depth_cut import DepthCut
from farface.report.plan_view import PlanShape, PlanView

SAMPLES_ALONG = 600
MARGIN_M = 1e-4


def plan_view(
    name: str, shapes: tuple[Shape, ...], plan: PartPlan, band: DepthBand, *, invented: bool, calibrated: bool
) -> PlanView:
    """Show the shapes, one sample of each layout of points, and a level cut through the deepest shape."""
    depths = {goal.shape: goal.depth_m for goal in plan.wanted}
    return PlanView(
        title=f"{name}: the plan",
        invented=invented,
        calibrated=calibrated,
        shapes=tuple(
            PlanShape(name=s.name, kind=s.kind, depth_m=depths[s.name], rings_m=s.paths_m) for s in shapes
        ),
        passes_m=tuple(layout.points_m for layout in distinct_layouts((*plan.earlier, *plan.passes))),
        cut=_cut(shapes, plan, band),
    )


def _cut(shapes: tuple[Shape, ...], plan: PartPlan, band: DepthBand) -> DepthCut:
    """Cut the map along x, through the deepest pocket; through everything where there are only lines."""
    deepest = plan.deepest
    paths = [path for s in shapes if deepest.kind == "line" or s.name == deepest.shape for path in s.paths_m]
    low, high = np.vstack(paths).min(axis=0), np.vstack(paths).max(axis=0)
    # A little off the middle: ruled lines like to run through the middle itself.
    y_m = float(low[1] + 0.57 * (high[1] - low[1]))
    reach_m = max(0.06 * float(high[0] - low[0]), MARGIN_M)
    depths = band.median
    row = round((y_m - depths.origin_m[1]) / depths.cell_m)
    along_m = np.linspace(float(low[0]) - reach_m, float(high[0]) + reach_m, SAMPLES_ALONG)
    columns = depths.origin_m[0] + depths.cell_m * np.arange(depths.depth_m.shape[1])
    median_m = np.interp(along_m, columns, depths.depth_m[row], left=0.0, right=0.0)
    return DepthCut(
        start_m=(float(along_m[0]), y_m), end_m=(float(along_m[-1]), y_m), along_m=along_m,
        wanted_m=_wanted_m(shapes, plan, along_m, y_m), tolerance_m=deepest.tolerance_m, median_m=median_m,
        low_m=band.low_share * median_m, high_m=band.high_share * median_m,
    )  # fmt: skip


def _wanted_m(
    shapes: tuple[Shape, ...], plan: PartPlan, along_m: NDArray[np.float64], y_m: float
) -> NDArray[np.float64]:
    """Take the deepest of the pockets and cuts along the line; ruled lines are too narrow to show."""
    from shapely import contains_xy

    depths = {goal.shape: goal.depth_m for goal in plan.wanted}
    wanted_m = np.zeros(along_m.size)
    for shape in shapes:
        if shape.kind != "line":
            inside = contains_xy(region_of(shape.paths_m), along_m, np.full(along_m.size, y_m))
            wanted_m = np.maximum(wanted_m, depths[shape.name] * inside)
    return wanted_m
