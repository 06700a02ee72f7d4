"""Simulate the depth that passes etch, by adding the dent of every firing point on a grid."""

import math
from collections.abc import Sequence

import numpy as np
from numba import njit
from numpy.typing import NDArray

from farface.kernel import OutOfRange
from farface.part.depth_map import DepthMap
from farface.part.layouts import distinct_layouts
from farface.part.stamp import dent_radius_m, dent_volume_m2
from farface.records import Pass

# A grid of float64 with this many cells takes 0.8 GB.
MOST_CELLS = 100_000_000


def simulate_depth_map(
    passes: Sequence[Pass],
    peak_depth_m: float | Sequence[float],
    *,
    spot_radius_m: float,
    threshold_share: float,
    cell_m: float,
) -> DepthMap:
    """Add one dent a firing point, of peak depth ``peak_depth_m`` (one for all, or one for each pass).

    The dents are those of `farface.part.stamp`; every one keeps its closed-form volume on the grid, whatever
    the cell. Passes that share an array of points are stamped once, with their peaks added. Leaves out heat
    and deposit carried from point to point, light lost on steep walls, and focus error: the plan's focus
    follows the floor. Raises `OutOfRange` for a cell wider than the dent's radius or too many cells.
    """
    reach_m = dent_radius_m(spot_radius_m, threshold_share)
    if not 0.0 < cell_m <= reach_m:
        raise OutOfRange(
            f"the cell is {cell_m * 1e6:g} um, but a dent is {reach_m * 1e6:.3g} um in radius."
            " Choose a cell of at most half that radius."
        )
    layouts = distinct_layouts(passes)
    depth, origin = _empty_grid([layout.points_m for layout in layouts], reach_m, cell_m)
    peaks = np.broadcast_to(peak_depth_m, len(passes))
    peak_of = {id(one): float(peak) for one, peak in zip(passes, peaks, strict=True)}
    volume = dent_volume_m2(spot_radius_m, threshold_share) / cell_m**2
    for layout in layouts:
        places = (layout.points_m - origin) / cell_m
        summed = volume * sum(peak_of[id(one)] for one in layout.passes)
        add_dents(depth, places, summed, spot_radius_m / cell_m, reach_m / cell_m, threshold_share)
    return DepthMap(
        depth_m=depth.astype(np.float32), origin_m=(float(origin[0]), float(origin[1])), cell_m=cell_m
    )


@njit(cache=True, nogil=True)
def add_dents(
    depth_m: NDArray[np.float64],
    places_px: NDArray[np.float64],
    volume_m_px2: float,
    spot_radius_px: float,
    reach_px: float,
    threshold_share: float,
) -> None:
    """Add to ``depth_m``, shape (row, column), a dent at each of ``places_px``, shape (points, 2), x and y.

    A px is a cell; ``volume_m_px2`` is the sum over a dent's cells, to which it is scaled exactly. The
    Gaussian is a product of one factor a row and one a column. What lies outside the grid is left out.
    """
    rows, columns = depth_m.shape
    half = math.ceil(reach_px)
    size = 2 * half + 1
    across, up, dent = np.empty(size), np.empty(size), np.empty((size, size))
    for n in range(places_px.shape[0]):
        column, row = round(places_px[n, 0]) - half, round(places_px[n, 1]) - half
        for i in range(size):
            across[i] = math.exp(-2.0 * ((column + i - places_px[n, 0]) / spot_radius_px) ** 2)
            up[i] = math.exp(-2.0 * ((row + i - places_px[n, 1]) / spot_radius_px) ** 2)
        total = 0.0
        for j in range(size):
            for i in range(size):
                dent[j, i] = max(across[i] * up[j] - threshold_share, 0.0)
                total += dent[j, i]
        scale = volume_m_px2 / total
        first, last = max(0, -column), min(size, columns - column)
        for j in range(max(0, -row), min(size, rows - row)):
            for i in range(first, last):
                depth_m[row + j, column + i] += scale * dent[j, i]


def _empty_grid(
    layouts: Sequence[NDArray[np.float64]], reach_m: float, cell_m: float
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return zeros that hold every dent whole with an untouched rim, and the middle of their first cell."""
    # One cell more than a dent's window, to stay untouched.
    margin = math.ceil(reach_m / cell_m) + 1
    low = np.floor(np.min([points.min(axis=0) for points in layouts], axis=0) / cell_m) - margin
    high = np.ceil(np.max([points.max(axis=0) for points in layouts], axis=0) / cell_m) + margin
    columns, rows = (high - low + 1).astype(int)
    if rows * columns > MOST_CELLS:
        raise OutOfRange(
            f"a map of {columns} x {rows} cells of {cell_m * 1e6:g} um is too large;"
            f" {MOST_CELLS:.0e} cells are allowed. Choose a wider cell."
        )
    return np.zeros((rows, columns)), low * cell_m
