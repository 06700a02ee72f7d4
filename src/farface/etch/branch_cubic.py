"""Read a branch of steady states between its rows, by the cubic through values and slopes.

A row holds natural logarithms of removal per pulse, fluence and deposit, and the slopes of the last two by
the first; see `farface.etch.branch`.
"""

import math
from typing import Final

import numpy as np
from numba import njit
from numpy.typing import NDArray

ROW: Final = 5
LOG_R, LOG_F, LOG_M, SLOPE_F, SLOPE_M = range(ROW)
# A cubic that gets as level as this between two rows makes a fold there possible.
NEARLY_LEVEL: Final = 0.03
# Halvings that find where the cubic passes a fluence; Newton's method goes on from there.
BISECTIONS: Final = 7


@njit(cache=True, nogil=True, error_model="numpy")
def log_between(lower: NDArray[np.float64], upper: NDArray[np.float64], log_r: float, what: int) -> float:
    """Read ``LOG_F`` or ``LOG_M`` between two rows of a branch, by the cubic through values and slopes."""
    span = upper[LOG_R] - lower[LOG_R]
    u = (log_r - lower[LOG_R]) / span
    slope_left, slope_right = lower[what + 2] * span, upper[what + 2] * span
    rise = upper[what] - lower[what]
    return float(
        lower[what] + u * (slope_left + u * (3.0 * rise - 2.0 * slope_left - slope_right
        + u * (slope_left + slope_right - 2.0 * rise)))
    )  # fmt: skip


@njit(cache=True, nogil=True, error_model="numpy")
def _bend(lower: NDArray[np.float64], upper: NDArray[np.float64]) -> tuple[float, float, float, float]:
    """Return the distance of two rows, and p, q, r of p u^2 + q u + r, the slope of the cubic between."""
    span = upper[LOG_R] - lower[LOG_R]
    a, b, rise = lower[SLOPE_F] * span, upper[SLOPE_F] * span, upper[LOG_F] - lower[LOG_F]
    return span, 3.0 * (a + b - 2.0 * rise), 2.0 * (3.0 * rise - 2.0 * a - b), a


@njit(cache=True, nogil=True, error_model="numpy")
def may_fold(lower: NDArray[np.float64], upper: NDArray[np.float64]) -> bool:
    """Tell whether F may pass a maximum between two rows: it falls at the end, or nearly so in between."""
    if lower[SLOPE_F] <= 0.0 or upper[SLOPE_F] < 0.0:
        return bool(lower[SLOPE_F] > 0.0)
    span, p, q, r = _bend(lower, upper)
    return bool(p > 0.0 and 0.0 < -q < 2.0 * p and r - 0.25 * q * q / p < NEARLY_LEVEL * span)


@njit(cache=True, nogil=True, error_model="numpy")
def log_r_level(lower: NDArray[np.float64], upper: NDArray[np.float64]) -> float:
    """Return where the cubic between two rows is level first, or nearest to level."""
    span, p, q, r = _bend(lower, upper)
    # The root in the form that does not cancel.
    u = 2.0 * r / (math.sqrt(max(q * q - 4.0 * p * r, 0.0)) - q)
    return float(lower[LOG_R] + min(max(u, 0.02), 0.98) * span)


@njit(cache=True, nogil=True, error_model="numpy")
def log_r_crossing(lower: NDArray[np.float64], upper: NDArray[np.float64], log_f: float) -> float:
    """Return ln r where the cubic between two rows passes a fluence, by halving."""
    low, high = lower[LOG_R], upper[LOG_R]
    for _ in range(BISECTIONS):
        middle = 0.5 * (low + high)
        if log_between(lower, upper, middle, LOG_F) < log_f:
            low = middle
        else:
            high = middle
    return float(0.5 * (low + high))
