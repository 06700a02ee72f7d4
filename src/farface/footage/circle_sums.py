"""Add up the normal equations of the circle that fits points best in Kasa's algebraic sense."""

import numpy as np
from numba import njit
from numpy.typing import NDArray


@njit(cache=True, nogil=True)
def add_point(sums: NDArray[np.float64], across_px: float, down_px: float) -> None:
    """Add a point to the nine sums of a circle's normal equations."""
    u, v = across_px, down_px
    z = u * u + v * v
    sums[0] += 1.0
    sums[1] += u
    sums[2] += v
    sums[3] += u * u
    sums[4] += u * v
    sums[5] += v * v
    sums[6] += z
    sums[7] += u * z
    sums[8] += v * z
