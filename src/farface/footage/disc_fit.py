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

# The normal distribution and its density on a fine grid: a hundred thousand times a second erfc is slow.
_REACH: Final = 6.0
_PER_SIGMA: Final = 64.0
_GRID: Final = np.linspace(-_REACH, _REACH, int(2 * _REACH * _PER_SIGMA) + 1)
_NORMAL: Final = ndtr(_GRID)
_BELL: Final = np.exp(-0.5 * _GRID**2) / math.sqrt(2.0 * math.pi)


@njit(cache=True, nogil=True)
def fit_disc(
    frame: NDArray[np.uint8],
    grey: NDArray[np.float32],
    usable: NDArray[np.uint8],
    bright_limit: NDArray[np.uint8],
    disc: NDArray[np.float64],
) -> bool:
    """Refine ``disc``, five numbers, in place against a frame; return whether it settled.

    At distance d from the centre the frame is darker than the background ``grey`` by
    contrast * Phi((radius - d) / edge), Phi the normal distribution: a sharp disc under a Gaussian blur
    of ``edge`` pixels, as seen across a straight edge. Gauss-Newton steps of least squares over the pixels
    within `MARGIN_PX` of the edge that are usable and no flash; so a half-bubble is fitted by the half
    that shows. A round edge lies inside a straight one by edge^2 / (2 radius), put back at the end.
    """
    rows = np.empty((_most_pixels(disc[RADIUS]), 6))
    disc[EDGE] = FIRST_EDGE_PX
    for _ in range(MOST_STEPS):
        used = _slopes(frame, grey, usable, bright_limit, disc, rows)
        if used < FEWEST_PIXELS:
            return False
        square = rows[:used].T @ rows[:used]
        for a in range(5):
            square[a, a] += 1e-9 + 1e-6 * square[a, a]
        step = np.linalg.solve(np.ascontiguousarray(square[:5, :5]), square[:5, 5].copy())
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
def _most_pixels(radius: float) -> int:
    """Bound how many pixels may lie near the edge of a disc that grows by the longest steps."""
    return int(8.0 * (2.0 * MARGIN_PX + 1.0) * (radius + MOST_STEPS * LONGEST_STEP_PX))


@njit(cache=True, nogil=True)
def _slopes(
    frame: NDArray[np.uint8],
    grey: NDArray[np.float32],
    usable: NDArray[np.uint8],
    bright_limit: NDArray[np.uint8],
    disc: NDArray[np.float64],
    rows: NDArray[np.float64],
) -> int:
    """List, for each pixel near the edge, the model's slope in the five numbers and what it leaves over.

    Fills ``rows``, shape (pixels, 6), and returns how many there were.
    """
    height, width = frame.shape
    column, row, radius, edge, contrast = disc
    used = 0
    outer, inner = radius + MARGIN_PX, max(0.0, radius - MARGIN_PX)
    for i in range(max(0, math.ceil(row - outer)), min(height, math.floor(row + outer) + 1)):
        v = i - row
        half = math.sqrt(max(0.0, outer * outer - v * v))
        hollow = math.sqrt(max(0.0, inner * inner - v * v))
        for j in range(max(0, math.ceil(column - half)), min(width, math.floor(column + half) + 1)):
            u = j - column
            if abs(u) < hollow or usable[i, j] == 0 or frame[i, j] > bright_limit[i, j]:
                continue
            distance = math.sqrt(u * u + v * v)
            x = (radius - distance) / edge
            at = min(max((x + _REACH) * _PER_SIGMA, 0.0), 2.0 * _REACH * _PER_SIGMA - 1.0)
            cell = int(at)
            share = _NORMAL[cell] + (at - cell) * (_NORMAL[cell + 1] - _NORMAL[cell])
            steep = contrast / edge * (_BELL[cell] + (at - cell) * (_BELL[cell + 1] - _BELL[cell]))
            away = max(distance, 1e-6)
            if used == rows.shape[0]:
                return used
            slope = rows[used]
            slope[COLUMN], slope[ROW], slope[RADIUS] = steep * u / away, steep * v / away, steep
            slope[EDGE], slope[CONTRAST] = -steep * x, share
            slope[5] = grey[i, j] - frame[i, j] - contrast * share
            used += 1
    return used
