"""Seat a half-bubble on the far face: the half that shows hardly tells its height from its radius."""

import math
from typing import Final

import numpy as np
from numba import njit
from numpy.typing import NDArray

from farface.footage.disc_fit import COLUMN, RADIUS, ROW

SEATED_SIGMAS: Final = 3.0  # a centre off the face by less than this, by noise alone, is taken to lie on it


@njit(cache=True, nogil=True)
def seat_on_face(
    disc: NDArray[np.float64],
    curvature: NDArray[np.float64],
    face_row_px: float,
    face_slope: float,
    noise_grey: float,
) -> bool:
    """Move the centre of a fitted disc onto the face, and all else with it; return whether that was done.

    Done where the distance d of the centre from the face, row = face_row_px + face_slope column, is less than
    `SEATED_SIGMAS` of its own standard error. With C the covariance of the five numbers and n the gradient of
    d, the numbers become x - C n d / (n C n): the Gaussian given that d is zero. So a bubble that is attached
    is a half-disc whose mirror image makes it whole. Leaves out that an attached bubble may be flatter; one
    that hangs free that near the face is taken for attached.
    """
    tilt = math.hypot(1.0, face_slope)
    off_px = (disc[ROW] - face_row_px - face_slope * disc[COLUMN]) / tilt
    if not abs(off_px) < disc[RADIUS]:
        return False
    gradient = np.zeros(5)
    gradient[COLUMN], gradient[ROW] = -face_slope / tilt, 1.0 / tilt
    moved = np.linalg.solve(curvature, gradient)
    spread = moved[COLUMN] * gradient[COLUMN] + moved[ROW] * gradient[ROW]
    if off_px * off_px > SEATED_SIGMAS * SEATED_SIGMAS * noise_grey * noise_grey * spread:
        return False
    disc -= moved * (off_px / spread)
    return True
