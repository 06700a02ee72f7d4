"""The depth map: how deep the far face is etched, place by place."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from farface.kernel import OutOfRange
from farface.part.hatch import inset_rings
from farface.part.shapes import Shape, region_of


@dataclass(frozen=True, slots=True, kw_only=True)
class DepthMap:
    """Hold depth below the untouched far face, ``depth_m``, shape (row, column), float32.

    Column and row count along x and y of the plate; ``origin_m`` is the middle of cell (0, 0). A depth beyond
    the plate's thickness means that the glass is pierced there.
    """

    depth_m: NDArray[np.float32]
    origin_m: tuple[float, float]
    cell_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class DepthStatistics:
    """Hold the median depth and the depths that 5 % and 95 % of the cells do not exceed."""

    cells: int
    median_m: float
    low_m: float
    high_m: float


def depth_statistics(depths: DepthMap, shape: Shape, *, inset_m: float = 0.0) -> DepthStatistics:
    """Summarise the depth inside a pocket, or a cut outline, drawn in by ``inset_m`` to leave out its wall.

    The wall of a pocket is two dent radii wide, see `farface.part.stamp.dent_radius_m`. Raises `OutOfRange`
    for a line, which has no inside, and where no cell of the map is left.
    """
    from shapely import contains_xy

    rows, columns = depths.depth_m.shape
    x = depths.origin_m[0] + depths.cell_m * np.arange(columns)
    y = depths.origin_m[1] + depths.cell_m * np.arange(rows)
    inside: NDArray[np.bool_] = np.zeros((rows, columns), dtype=bool)
    if shape.kind != "line" and (rings_m := inset_rings(shape.paths_m, inset_m=inset_m)):
        inside = np.asarray(contains_xy(region_of(rings_m), *np.meshgrid(x, y)))
    if not inside.any():
        raise OutOfRange(
            f'no cell of the depth map lies inside "{shape.name}" drawn in by {inset_m * 1e6:g} um. Ask for a'
            " pocket that is wider than that, or use a finer map."
        )
    low, median, high = np.percentile(depths.depth_m[inside], (5.0, 50.0, 95.0))
    return DepthStatistics(
        cells=int(inside.sum()), median_m=float(median), low_m=float(low), high_m=float(high)
    )
