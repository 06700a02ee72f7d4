"""Tell whether bubbles show their mirror image in the glass, above the face."""

from typing import Final

import numpy as np
from numba import njit
from numpy.typing import NDArray

from farface.footage.background import FACE_GUARD_PX, Background
from farface.records import FilmScale

MIRRORED_SHARE: Final = 0.15  # of the bubble's contrast, from which on its image is believed
FEWEST_PIXELS: Final = 20


def mirrored_share(
    frames: NDArray[np.uint8], background: Background, discs: NDArray[np.void], scale: FilmScale
) -> NDArray[np.float64]:
    """Compute how dark the mirror image of each disc is, over the disc's own contrast, shape (disc,).

    The mean darkening of the pixels above the face that are the disc's own mirrored in it; NaN where fewer
    than `FEWEST_PIXELS` of them lie in the picture. Nothing above the face is ever read as a bubble, so
    images add none; what they tell is that light reaches the camera by way of the glass's surface.
    """
    shares = np.full(discs.size, np.nan)
    _compare(frames, background.grey, discs, scale.face_row_px, scale.face_slope, shares)
    return shares


@njit(cache=True, nogil=True)
def _compare(
    frames: NDArray[np.uint8],
    grey: NDArray[np.float32],
    discs: NDArray[np.void],
    face_row: float,
    slope: float,
    shares: NDArray[np.float64],
) -> None:
    height, width = grey.shape
    square = 1.0 + slope * slope
    for k in range(discs.size):
        disc = discs[k]
        below = (disc.row - face_row - slope * disc.column) / square
        row, column = disc.row - 2.0 * below, disc.column + 2.0 * slope * below
        reach = disc.radius - disc.edge
        total, count = 0.0, 0
        for i in range(max(0, int(row - reach)), min(height, int(row + reach) + 2)):
            for j in range(max(0, int(column - reach)), min(width, int(column + reach) + 2)):
                above = face_row + slope * j - i
                if above > FACE_GUARD_PX and (i - row) ** 2 + (j - column) ** 2 < reach * reach:
                    total += grey[i, j] - frames[disc.frame, i, j]
                    count += 1
        if count >= FEWEST_PIXELS:
            shares[k] = total / count / disc.contrast
