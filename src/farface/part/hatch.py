"""Lay firing points: rows that fill a region, and points along a path.

All hatches of one pitch and angle lie on one square lattice through the plate's middle, so pockets that share
an edge share their rows, and no seam is etched twice or left out.
"""

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from farface.kernel import OutOfRange
from farface.part.shapes import Vertices, region_of, rings_of

Points = NDArray[np.float64]

# Twenty million points are 320 MB and, at 10,000 points a second, half an hour of one pass.
MOST_POINTS = 20_000_000


def hatch_points_m(
    rings_m: Sequence[Vertices], *, pitch_m: float, angle_rad: float, inset_m: float = 0.0
) -> Points:
    """Fill the region inside an odd number of ``rings_m`` with points, shape (points, 2), in order of firing.

    Rows lie ``pitch_m`` apart at ``angle_rad`` to the x axis, points ``pitch_m`` apart along them, and every
    other row runs backwards. The region is first drawn in by ``inset_m`` (negative: let out), to leave room
    for the spot. A point on a left or lower edge counts as inside, on a right or upper edge as outside, so
    regions that share an edge share no point. Empty when nothing is left. Raises `OutOfRange` for a pitch
    that is not positive or would lay more than `MOST_POINTS` points.
    """
    _check_pitch(pitch_m)
    rings_m = inset_rings(rings_m, inset_m=inset_m)
    if not rings_m:
        return np.empty((0, 2))
    turned = [_turned(ring, -angle_rad) / pitch_m for ring in rings_m]
    edges = np.vstack([np.hstack((ring, np.roll(ring, -1, axis=0))) for ring in turned])
    return _turned(_lattice_inside(edges, pitch_m), angle_rad) * pitch_m


def inset_rings(rings_m: Sequence[Vertices], *, inset_m: float) -> tuple[Vertices, ...]:
    """Draw a region in by a distance (negative: let it out), with round corners flat to 0.12 % of it."""
    if inset_m == 0.0:
        return tuple(rings_m)
    return rings_of(region_of(rings_m).buffer(-inset_m, quad_segs=16))


def path_points_m(path_m: Vertices, *, pitch_m: float, closed: bool, between: bool = False) -> Points:
    """Lay points evenly along a path, as near to ``pitch_m`` apart as a whole number of steps allows.

    An open path gets a point at both ends; a closed one is walked once around and ends a step before its
    start. ``between`` lays a point in the middle of every step instead. Shape (vertices, 2) to (points, 2).
    """
    _check_pitch(pitch_m)
    walked = np.vstack((path_m, path_m[:1])) if closed else path_m
    along = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(walked, axis=0).T))))
    steps = max(1, round(along[-1] / pitch_m))
    _check_count(np.array([steps]), pitch_m)
    at = np.linspace(0.0, along[-1], steps + 1)[: steps if closed or between else steps + 1]
    if between:
        at += 0.5 * along[-1] / steps
    return np.column_stack([np.interp(at, along, walked[:, axis]) for axis in (0, 1)])


def _turned(points: Points, angle_rad: float) -> Points:
    """Turn points anticlockwise, equal ones to equal ones: a matrix product may round them differently."""
    (x, y), cos, sin = points.T, math.cos(angle_rad), math.sin(angle_rad)
    return np.column_stack((cos * x - sin * y, sin * x + cos * y))


def _lattice_inside(edges: NDArray[np.float64], pitch_m: float) -> Points:
    """Return the points of the unit lattice inside the edges, shape (edges, 4) as x0 y0 x1 y1, row by row.

    Every row crosses the outline an even number of times; sorted along the row, the crossings enter and
    leave by turns. ``pitch_m`` only serves the refusal of too many.
    """
    row, x = _row_crossings(edges, pitch_m)
    order = np.lexsort((x, row))
    row, enter, leave = row[order][::2], np.ceil(x[order][::2]), np.ceil(x[order][1::2])
    backwards = row % 2 == 1
    order = np.lexsort((np.where(backwards, -enter, enter), row))
    row, enter, leave, backwards = row[order], enter[order], leave[order], backwards[order]
    length = (leave - enter).astype(np.int64)
    _check_count(length, pitch_m)
    first = np.where(backwards, leave - 1, enter)
    step = np.where(backwards, -1.0, 1.0)
    x = np.repeat(first, length) + _count_up(length) * np.repeat(step, length)
    return np.column_stack((x, np.repeat(row, length)))


def _row_crossings(
    edges: NDArray[np.float64], pitch_m: float
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return the row and the x of every place where an edge crosses a row y = 0, 1, 2, ... or -1, -2, ..."""
    # From low to high, so that both neighbours of a shared edge compute the same crossing.
    x0, y0, x1, y1 = np.where((edges[:, 1] > edges[:, 3])[:, None], edges[:, [2, 3, 0, 1]], edges).T
    count = (np.ceil(y1) - np.ceil(y0)).astype(np.int64)
    _check_count(count, pitch_m)
    edge = np.repeat(np.arange(len(edges)), count)
    row = np.ceil(y0)[edge] + _count_up(count)
    return row, x0[edge] + (x1 - x0)[edge] * ((row - y0[edge]) / (y1 - y0)[edge])


def _count_up(lengths: NDArray[np.int64]) -> NDArray[np.int64]:
    """Return 0, 1, ..., length - 1 for each length in turn."""
    return np.arange(lengths.sum()) - np.repeat(np.cumsum(lengths) - lengths, lengths)


def _check_pitch(pitch_m: float) -> None:
    if not (pitch_m > 0.0 and math.isfinite(pitch_m)):
        raise OutOfRange(
            f"the pitch is {pitch_m * 1e6:g} um; it must be positive. Choose about half a spot radius."
        )


def _check_count(counts: NDArray[np.int64], pitch_m: float) -> None:
    if (total := int(counts.sum())) > MOST_POINTS:
        raise OutOfRange(
            f"a pitch of {pitch_m * 1e6:g} um takes {total:.3g} points in one pass; farface lays at most"
            f" {MOST_POINTS:.0e}. Widen the pitch, or split the shape."
        )
