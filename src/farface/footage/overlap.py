"""Take a dark patch apart into two bubbles that overlap in the picture."""

import math
from typing import Any, Final

import numpy as np
from numba import njit
from numpy.typing import NDArray

from farface.footage.circle_sums import add_point
from farface.footage.disc_fit import COLUMN, CONTRAST, RADIUS, ROW, fit_disc

ROUNDS: Final = 12  # of sharing the outline between two circles
FEWEST_POINTS: Final = 6  # of the outline, for a circle
FEWEST_OFF: Final = 4  # points of the outline that lie off one disc, before two are looked for
LEAST_RADIUS_PX: Final = 2.0
MOST_ASTRAY_PX: Final = 1.0  # rms of the outline about the two circles
GUARD_PX: Final = 3.0  # a disc is fitted where it lies this far outside the other
NEAR_PX: Final = 2.0  # a point farther outside the first circle belongs to the second
MOST_POINTS: Final = 4096


@njit(cache=True, nogil=True)
def split_pair(
    frame: NDArray[np.uint8],
    grey: NDArray[np.float32],
    usable: NDArray[np.uint8],
    dark_limit: NDArray[np.uint8],
    bright_limit: NDArray[np.uint8],
    patch: Any,
    disc: NDArray[np.float64],
    discs: NDArray[np.float64],
    slopes: NDArray[np.float64],
) -> bool:
    """Fit two discs, shape (2, 5), to a dark patch; return whether both settled.

    The outline's points are shared between two circles, each point to the nearer one, and each circle is
    fitted anew to its points, until that changes no more. Then each disc is fitted to the grey levels around
    that part of its edge which lies clear of the other, with ``slopes`` to work in. A patch whose outline
    follows one ``disc`` (of radius 0 for none) is left alone. Three bubbles in one patch are beyond it.
    """
    points = np.empty((MOST_POINTS, 2))
    count = _outline(frame, usable, dark_limit, patch, points)
    if count < 2 * FEWEST_POINTS or _follows(points[:count], disc):
        return False
    if not _guess_two(frame, dark_limit, patch, points[:count], discs):
        return False
    owners = np.full(count, -1, dtype=np.int8)
    for _ in range(ROUNDS):
        fitted, changed = _share_outline(points[:count], discs, owners)
        if not fitted:
            return False
        if not changed:
            break
    if _astray(points[:count], discs) > MOST_ASTRAY_PX or not _apart(discs):
        return False
    first = discs.copy()
    curvature = np.empty((5, 5))
    for k in range(2):
        clear = _clear_of(usable, first[1 - k])
        discs[k, CONTRAST] = -patch.excess_squared / patch.excess
        if not fit_disc(frame, grey, clear, bright_limit, discs[k], slopes, curvature):
            return False
        if abs(discs[k, RADIUS] - first[k, RADIUS]) > 0.2 * first[k, RADIUS] + 1.0:
            return False
    return _apart(discs)


@njit(cache=True, nogil=True)
def _outline(
    frame: NDArray[np.uint8],
    usable: NDArray[np.uint8],
    dark_limit: NDArray[np.uint8],
    patch: Any,
    points: NDArray[np.float64],
) -> int:
    """List the outermost edges of each row and each column of the patch's box, and return their number.

    Pixels that noise alone made dark have few dark neighbours and are passed over; an edge against the rim or
    against pixels where no bubble could be seen is none.
    """
    count = 0
    for down, right, lines, first, last in (
        (0, 1, patch.bottom - patch.top + 1, patch.left, patch.right),
        (1, 0, patch.right - patch.left + 1, patch.top, patch.bottom),
    ):
        for line in range(lines):
            for side in (-1, 1):
                at = first if side < 0 else last
                while first <= at <= last:
                    i = at if down else patch.top + line
                    j = at if right else patch.left + line
                    if _is_solid(frame, dark_limit, i, j):
                        break
                    at -= side
                a, b = i + side * down, j + side * right
                if not first <= at <= last or not (0 <= a < frame.shape[0] and 0 <= b < frame.shape[1]):
                    continue
                if usable[a, b] and count < points.shape[0]:
                    points[count, 0], points[count, 1] = j + 0.5 * side * right, i + 0.5 * side * down
                    count += 1
    return count


@njit(cache=True, nogil=True)
def _follows(points: NDArray[np.float64], one: NDArray[np.float64]) -> bool:
    """Say whether hardly a point of an outline lies off one disc's edge."""
    off = 0
    for k in range(points.shape[0]):
        off += _off(points[k], one) > NEAR_PX
    return bool(one[RADIUS] > 0.0 and off < FEWEST_OFF)


@njit(cache=True, nogil=True)
def _is_solid(frame: NDArray[np.uint8], dark_limit: NDArray[np.uint8], i: int, j: int) -> bool:
    """Say whether a pixel and at least three of its eight neighbours are dark."""
    if frame[i, j] >= dark_limit[i, j]:
        return False
    dark = 0
    for a in range(max(0, i - 1), min(frame.shape[0], i + 2)):
        for b in range(max(0, j - 1), min(frame.shape[1], j + 2)):
            dark += frame[a, b] < dark_limit[a, b]
    return dark > 3


@njit(cache=True, nogil=True)
def _guess_two(
    frame: NDArray[np.uint8],
    dark_limit: NDArray[np.uint8],
    patch: Any,
    points: NDArray[np.float64],
    discs: NDArray[np.float64],
) -> bool:
    """Set the first disc to the largest that fits inside the outline, the second to what sticks out of it."""
    discs[0, RADIUS] = 0.0
    for i in range(patch.top, patch.bottom + 1, 2):
        for j in range(patch.left, patch.right + 1, 2):
            nearest = math.inf if _is_solid(frame, dark_limit, i, j) else 0.0
            for k in range(points.shape[0]):
                nearest = min(nearest, (points[k, 0] - j) ** 2 + (points[k, 1] - i) ** 2)
                if nearest <= discs[0, RADIUS] ** 2:
                    break
            if nearest > discs[0, RADIUS] ** 2:
                discs[0, COLUMN], discs[0, ROW], discs[0, RADIUS] = j, i, math.sqrt(nearest)
    for _ in range(2):
        if not _fit_some(points, discs[0], discs[0], -NEAR_PX, NEAR_PX):
            return False
    return _fit_some(points, discs[0], discs[1], NEAR_PX, math.inf)


@njit(cache=True, nogil=True)
def _fit_some(
    points: NDArray[np.float64],
    about: NDArray[np.float64],
    disc: NDArray[np.float64],
    least: float,
    most: float,
) -> bool:
    """Fit a circle to the points that lie between ``least`` and ``most`` outside another circle."""
    sums = np.zeros(9)
    column, row, radius = about[COLUMN], about[ROW], about[RADIUS]
    for k in range(points.shape[0]):
        u, v = points[k, 0] - column, points[k, 1] - row
        if least <= math.hypot(u, v) - radius <= most:
            add_point(sums, u, v)
    disc[COLUMN], disc[ROW] = column, row
    return bool(sums[0] >= FEWEST_POINTS and _solve(sums, disc))


@njit(cache=True, nogil=True)
def _share_outline(
    points: NDArray[np.float64], discs: NDArray[np.float64], owners: NDArray[np.int8]
) -> tuple[bool, bool]:
    """Give each point to the nearer circle, and fit each circle to its points as Kasa does.

    Returns whether both could be fitted, and whether any of the ``owners`` changed.
    """
    first, second = np.zeros(9), np.zeros(9)
    changed = False
    for k in range(points.shape[0]):
        owner = 0 if _off(points[k], discs[0]) <= _off(points[k], discs[1]) else 1
        changed = changed or owners[k] != owner
        owners[k] = owner
        u, v = points[k, 0] - discs[owner, COLUMN], points[k, 1] - discs[owner, ROW]
        add_point(first if owner == 0 else second, u, v)
    if min(first[0], second[0]) < FEWEST_POINTS:
        return False, changed
    return _solve(first, discs[0]) and _solve(second, discs[1]), changed


@njit(cache=True, nogil=True)
def _solve(sums: NDArray[np.float64], disc: NDArray[np.float64]) -> bool:
    """Solve for the circle that minimises the sum of (u^2 + v^2 - 2 a u - 2 b v - c)^2."""
    matrix = np.array([[sums[3], sums[4], sums[1]], [sums[4], sums[5], sums[2]], [sums[1], sums[2], sums[0]]])
    if abs(np.linalg.det(matrix)) < 1e-9:
        return False
    a, b, c = np.linalg.solve(matrix, np.array([sums[7], sums[8], sums[6]]))
    disc[COLUMN], disc[ROW] = disc[COLUMN] + 0.5 * a, disc[ROW] + 0.5 * b
    disc[RADIUS] = math.sqrt(max(0.0, c + 0.25 * (a * a + b * b)))
    return bool(disc[RADIUS] >= LEAST_RADIUS_PX)


@njit(cache=True, nogil=True)
def _off(point: NDArray[np.float64], disc: NDArray[np.float64]) -> float:
    return float(abs(math.hypot(point[0] - disc[COLUMN], point[1] - disc[ROW]) - disc[RADIUS]))


@njit(cache=True, nogil=True)
def _astray(points: NDArray[np.float64], discs: NDArray[np.float64]) -> float:
    """Compute the rms distance of the outline from the nearer circle."""
    total = 0.0
    for k in range(points.shape[0]):
        total += min(_off(points[k], discs[0]), _off(points[k], discs[1])) ** 2
    return math.sqrt(total / points.shape[0])


@njit(cache=True, nogil=True)
def _apart(discs: NDArray[np.float64]) -> bool:
    """Say whether two discs overlap or touch, and neither lies within the other."""
    distance = math.hypot(discs[0, COLUMN] - discs[1, COLUMN], discs[0, ROW] - discs[1, ROW])
    wide, narrow = max(discs[0, RADIUS], discs[1, RADIUS]), min(discs[0, RADIUS], discs[1, RADIUS])
    return bool(wide - 0.5 * narrow < distance < wide + narrow + GUARD_PX)


@njit(cache=True, nogil=True)
def _clear_of(usable: NDArray[np.uint8], other: NDArray[np.float64]) -> NDArray[np.uint8]:
    """Mark the usable pixels that lie clear of a disc."""
    clear = usable.copy()
    reach = other[RADIUS] + GUARD_PX
    for i in range(max(0, int(other[ROW] - reach)), min(clear.shape[0], int(other[ROW] + reach) + 2)):
        for j in range(
            max(0, int(other[COLUMN] - reach)), min(clear.shape[1], int(other[COLUMN] + reach) + 2)
        ):
            if math.hypot(i - other[ROW], j - other[COLUMN]) < reach:
                clear[i, j] = 0
    return clear
