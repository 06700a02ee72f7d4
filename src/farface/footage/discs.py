"""Read bubbles off frames as discs: dark patches, each refined by a fit to its edge."""

import math
from typing import Any, Final

import numpy as np
from numba import njit
from numpy.typing import NDArray

from farface.footage.background import Background
from farface.footage.disc_fit import COLUMN, CONTRAST, EDGE, RADIUS, ROW, fit_disc
from farface.footage.runs import DARK

LEAST_RADIUS_PX: Final = 1.5
LEAST_CONTRAST_SIGMAS: Final = 2.5
LEAST_FILLED: Final = 0.5  # of the disc's visible pixels, the share that is dark
MOST_SPILLED: Final = 0.3  # of that number, the pixels of the patch outside the disc and its soft edge

DISC: Final = np.dtype(
    [
        ("frame", np.int64),
        ("column", np.float64),
        ("row", np.float64),
        ("radius", np.float64),
        ("contrast", np.float64),
        ("edge", np.float64),
    ]
)


def discs_of(
    frames: NDArray[np.uint8], background: Background, patches: NDArray[np.void]
) -> NDArray[np.void]:
    """Turn the dark patches of frames, shape (time, row, column), into discs with the fields of `DISC`.

    A patch is dropped when the fit does not settle or does not look like a disc: contrast too near the
    noise, too little of the disc dark, or too much of the patch outside it. Bubbles that overlap in the
    picture form one patch and are read as one disc or dropped.
    """
    dark = patches[patches["kind"] == DARK]
    discs = np.zeros(dark.size, dtype=DISC)
    kept = _fit_all(
        frames,
        background.grey,
        background.usable,
        background.dark_limit,
        background.bright_limit,
        LEAST_CONTRAST_SIGMAS * background.noise_grey,
        dark,
        discs,
    )
    return discs[:kept]


@njit(cache=True, nogil=True)
def _fit_all(
    frames: NDArray[np.uint8],
    grey: NDArray[np.float32],
    usable: NDArray[np.uint8],
    dark_limit: NDArray[np.uint8],
    bright_limit: NDArray[np.uint8],
    least_contrast: float,
    patches: NDArray[np.void],
    discs: NDArray[np.void],
) -> int:
    """Fit every patch; fill ``discs`` with those that look like one and return their number."""
    kept = 0
    numbers = np.empty(5)
    for patch in patches:
        frame = frames[patch.frame]
        _guess(patch, numbers)
        if numbers[RADIUS] == 0.0 or not fit_disc(frame, grey, usable, bright_limit, numbers):
            continue
        if numbers[RADIUS] < LEAST_RADIUS_PX or numbers[CONTRAST] < least_contrast:
            continue
        visible, _ = _count_inside(frame, dark_limit, usable, numbers, numbers[RADIUS])
        _, dark = _count_inside(frame, dark_limit, usable, numbers, numbers[RADIUS] + 2.0 * numbers[EDGE])
        if dark < LEAST_FILLED * visible or patch.pixels - dark > MOST_SPILLED * visible:
            continue
        disc = discs[kept]
        disc.frame, disc.column, disc.row = patch.frame, numbers[COLUMN], numbers[ROW]
        disc.radius, disc.contrast, disc.edge = numbers[RADIUS], numbers[CONTRAST], numbers[EDGE]
        kept += 1
    return kept


@njit(cache=True, nogil=True)
def _guess(patch: Any, disc: NDArray[np.float64]) -> None:
    """Set a disc to the circle of a patch, shrunk from the outskirts of its soft edge to the middle.

    For a uniform disc of area A and contrast c the sums of excess and its square are -c A and c^2 A, soft
    edge or not to first order, which gives both.
    """
    disc[COLUMN], disc[ROW] = patch.circle_column, patch.circle_row
    disc[CONTRAST] = -patch.excess_squared / patch.excess
    disc[RADIUS] = patch.circle_radius * math.sqrt(patch.excess**2 / (patch.excess_squared * patch.pixels))


@njit(cache=True, nogil=True)
def _count_inside(
    frame: NDArray[np.uint8],
    dark_limit: NDArray[np.uint8],
    usable: NDArray[np.uint8],
    disc: NDArray[np.float64],
    radius: float,
) -> tuple[int, int]:
    """Count the usable pixels within ``radius`` of a disc's centre, and those of them that are dark."""
    height, width = frame.shape
    column, row = disc[COLUMN], disc[ROW]
    visible, dark = 0, 0
    for i in range(max(0, int(row - radius)), min(height, int(row + radius) + 2)):
        for j in range(max(0, int(column - radius)), min(width, int(column + radius) + 2)):
            if usable[i, j] and (i - row) ** 2 + (j - column) ** 2 < radius * radius:
                visible += 1
                dark += frame[i, j] < dark_limit[i, j]
    return visible, dark
