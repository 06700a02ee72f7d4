"""Trace contour lines of a gridded quantity, in units of grid steps."""

import numpy as np
from numpy.typing import NDArray

Step = tuple[float, float]
# Which edges of a cell a contour crosses, by which corners (1 lower left, 2 lower right, 4 upper right,
# 8 upper left) lie above the level. Edges: 0 lower, 1 right, 2 upper, 3 left. Saddles take the split that
# keeps the high corners apart.
_CROSSINGS = {
    1: ((3, 0),),
    2: ((0, 1),),
    3: ((3, 1),),
    4: ((1, 2),),
    5: ((3, 0), (1, 2)),
    6: ((0, 2),),
    7: ((3, 2),),
    8: ((2, 3),),
    9: ((0, 2),),
    10: ((0, 1), (2, 3)),
    11: ((1, 2),),
    12: ((1, 3),),
    13: ((0, 1),),
    14: ((3, 0),),
}
Edge = tuple[int, int, int]  # row, column of its first corner; 0 along the row, 1 across it


def contour(values: NDArray[np.float64], level: float) -> list[list[Step]]:
    """Trace where ``values``, shape (rows, columns), equal ``level``: lines of (column, row) points.

    Points lie on grid edges by linear interpolation; closed lines end where they start. Cells with a value
    that is not a number are left out; infinite values count as far beyond any level.
    """
    big = 10.0 * max(1.0, abs(level), float(np.nanmax(np.abs(values[np.isfinite(values)]), initial=0.0)))
    grid = np.where(np.isinf(values), np.sign(values) * big, values)
    links: dict[Edge, list[Edge]] = {}
    for row in range(grid.shape[0] - 1):
        for column in range(grid.shape[1] - 1):
            for start, end in _segments(grid, level, row, column):
                links.setdefault(start, []).append(end)
                links.setdefault(end, []).append(start)
    return [[_crossing(grid, level, edge) for edge in chain] for chain in _chains(links)]


def _segments(grid: NDArray[np.float64], level: float, row: int, column: int) -> list[tuple[Edge, Edge]]:
    corners = grid[[row, row, row + 1, row + 1], [column, column + 1, column + 1, column]]
    if np.isnan(corners).any():
        return []
    case = sum(1 << k for k in range(4) if corners[k] > level)
    edges: tuple[Edge, ...] = ((row, column, 0), (row, column + 1, 1), (row + 1, column, 0), (row, column, 1))
    return [(edges[a], edges[b]) for a, b in _CROSSINGS.get(case, ())]


def _crossing(grid: NDArray[np.float64], level: float, edge: Edge) -> Step:
    row, column, across = edge
    first, second = grid[row, column], grid[row + across, column + 1 - across]
    share = float((level - first) / (second - first))
    return column + (0.0 if across else share), row + (share if across else 0.0)


def _chains(links: dict[Edge, list[Edge]]) -> list[list[Edge]]:
    """Join segments into lines, open ones from their ends first, then closed ones."""
    left = {edge: list(others) for edge, others in links.items()}
    starts = [edge for edge, others in left.items() if len(others) == 1]
    chains = []
    for start in [*starts, *left]:
        if left[start]:
            chains.append(_walk(start, left))
    return chains


def _walk(start: Edge, left: dict[Edge, list[Edge]]) -> list[Edge]:
    chain = [start]
    here = start
    while left[here]:
        there = left[here].pop()
        left[there].remove(here)
        chain.append(there)
        here = there
    return chain
