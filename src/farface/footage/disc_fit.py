"""Fit a soft-edged disc to the grey levels around its edge, to a small part of a pixel."""

import math
from typing import Final

import numpy as np
from numba import njit
from numpy.typing import NDArray
from scipy.special import ndtr

MOST_STEPS: Final = 12
SETTLED_PX: Final = 0.03
FEWEST_PIXELS: Final = 10
MARGIN_PX: Final = 4.0  # the fit looks this far to both sides of the edge
LONGEST_STEP_PX: Final = 2.0
FIRST_EDGE_PX: Final = 1.2
EDGE_LEAST_PX: Final = 0.3
EDGE_MOST_PX: Final = 3.0

COLUMN, ROW, RADIUS, EDGE, CONTRAST = range(5)  # places in the arrays of a disc's five numbers

# The normal distribution and its density on a fine grid, each with its step to the next point: a hundred
# thousand times a second erfc is slow.
_REACH: Final = 6.0
_PER_SIGMA: Final = 64.0
_GRID: Final = np.linspace(-_REACH, _REACH, int(2 * _REACH * _PER_SIGMA) + 1)
_NORMAL: Final = ndtr(_GRID)
_BELL: Final = np.exp(-0.5 * _GRID**2) / math.sqrt(2.0 * math.pi)
_TABLE: Final = np.stack([_NORMAL[:-1], np.diff(_NORMAL), _BELL[:-1], np.diff(_BELL)], axis=1)


@njit(cache=True, nogil=True)
def fit_disc(
    frame: NDArray[np.uint8],
    grey: NDArray[np.float32],
    usable: NDArray[np.uint8],
    bright_limit: NDArray[np.uint8],
    disc: NDArray[np.float64],
    slopes: NDArray[np.float64],
    curvature: NDArray[np.float64],
) -> bool:
    """Refine ``disc``, five numbers, in place against a frame; return whether it settled.

    At distance d from the centre the frame is darker than the background ``grey`` by
    contrast * Phi((radius - d) / edge), Phi the normal distribution: a sharp disc under a Gaussian blur
    of ``edge`` pixels, as seen across a straight edge. Gauss-Newton steps of least squares over the pixels
    within `MARGIN_PX` of the edge that are usable and no flash; so a half-bubble is fitted by the half
    that shows. A round edge lies inside a straight one by edge^2 / (2 radius), put back at the end.
    ``slopes``, shape (6, pixels of a frame), is room to work in; ``curvature``, shape (5, 5), holds the
    normal equations of the last step: its inverse times the noise squared is the five numbers' covariance.
    """
    side = np.empty(5)
    disc[EDGE] = FIRST_EDGE_PX
    for _ in range(MOST_STEPS):
        used = _fill_slopes(frame, grey, usable, bright_limit, disc, slopes)
        if used < FEWEST_PIXELS:
            return False
        _sum_products(slopes, used, curvature, side)
        for a in range(5):
            curvature[a, a] += 1e-9 + 1e-6 * curvature[a, a]
        step = np.linalg.solve(curvature, side)
        longest = max(abs(step[COLUMN]), abs(step[ROW]), abs(step[RADIUS]))
        disc += step * min(1.0, LONGEST_STEP_PX / max(longest, SETTLED_PX))
        disc[EDGE] = min(max(disc[EDGE], EDGE_LEAST_PX), EDGE_MOST_PX)
        if not 0.5 < disc[RADIUS] < frame.shape[0] + frame.shape[1]:
            return False
        if longest < SETTLED_PX:
            disc[RADIUS] += disc[EDGE] ** 2 / (2.0 * disc[RADIUS])
            return True
    return False


@njit(cache=True, nogil=True)
def _fill_slopes(
    frame: NDArray[np.uint8],
    grey: NDArray[np.float32],
    usable: NDArray[np.uint8],
    bright_limit: NDArray[np.uint8],
    disc: NDArray[np.float64],
    slopes: NDArray[np.float64],
) -> int:
    """List, for each pixel near the edge, the model's slope in the five numbers and what it leaves over.

    Fills ``slopes``, shape (6, pixels), and returns how many pixels there were.
    """
    height, width = frame.shape
    column, row, radius, edge, contrast = disc
    outer, inner = radius + MARGIN_PX, max(0.0, radius - MARGIN_PX)
    used = 0
    for i in range(max(0, math.ceil(row - outer)), min(height, math.floor(row + outer) + 1)):
        v = i - row
        half = math.sqrt(max(0.0, outer * outer - v * v))
        hollow = math.sqrt(max(0.0, inner * inner - v * v))
        first, last = max(0, math.ceil(column - half)), min(width, math.floor(column + half) + 1)
        middle = min(last, max(first, math.floor(column - hollow) + 1))  # the row's pixels before the hollow,
        again = max(middle, math.ceil(column + hollow))  # and those after it
        for start, stop in ((first, middle), (again, last)):
            for j in range(start, stop):
                if usable[i, j] == 0 or frame[i, j] > bright_limit[i, j]:
                    continue
                u = j - column
                distance = math.sqrt(u * u + v * v)
                x = (radius - distance) / edge
                at = min(max((x + _REACH) * _PER_SIGMA, 0.0), 2.0 * _REACH * _PER_SIGMA - 1.0)
                cell = int(at)
                share = _TABLE[cell, 0] + (at - cell) * _TABLE[cell, 1]
                steep = contrast / edge * (_TABLE[cell, 2] + (at - cell) * _TABLE[cell, 3])
                turned = steep / max(distance, 1e-6)
                slopes[COLUMN, used], slopes[ROW, used], slopes[RADIUS, used] = turned * u, turned * v, steep
                slopes[EDGE, used], slopes[CONTRAST, used] = -steep * x, share
                slopes[5, used] = grey[i, j] - frame[i, j] - contrast * share
                used += 1
    return used


@njit(cache=True, nogil=True, fastmath=True)
def _sum_products(
    slopes: NDArray[np.float64], used: int, curvature: NDArray[np.float64], side: NDArray[np.float64]
) -> None:
    """Sum up the normal equations: ``curvature``, shape (5, 5), and ``side``, shape (5,).

    Written out, and free to add in any order, so that one pass makes all twenty sums eight pixels at a time.
    """
    u, v, r, e, c, left = slopes[0], slopes[1], slopes[2], slopes[3], slopes[4], slopes[5]
    uu = uv = ur = ue = uc = vv = vr = ve = vc = rr = re = rc = ee = ec = cc = 0.0
    ul = vl = rl = el = cl = 0.0
    for k in range(used):
        uu, uv, ur = uu + u[k] * u[k], uv + u[k] * v[k], ur + u[k] * r[k]
        ue, uc, ul = ue + u[k] * e[k], uc + u[k] * c[k], ul + u[k] * left[k]
        vv, vr, ve = vv + v[k] * v[k], vr + v[k] * r[k], ve + v[k] * e[k]
        vc, vl, rr = vc + v[k] * c[k], vl + v[k] * left[k], rr + r[k] * r[k]
        re, rc, rl = re + r[k] * e[k], rc + r[k] * c[k], rl + r[k] * left[k]
        ee, ec, el = ee + e[k] * e[k], ec + e[k] * c[k], el + e[k] * left[k]
        cc, cl = cc + c[k] * c[k], cl + c[k] * left[k]
    curvature[0], curvature[1] = (uu, uv, ur, ue, uc), (uv, vv, vr, ve, vc)
    curvature[2], curvature[3], curvature[4] = (
        (ur, vr, rr, re, rc),
        (ue, ve, re, ee, ec),
        (uc, vc, rc, ec, cc),
    )
    side[0], side[1], side[2], side[3], side[4] = ul, vl, rl, el, cl
