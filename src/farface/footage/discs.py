"""Read bubbles off frames as discs: dark patches, each refined by a fit to its edge."""

import math
from typing import Any, Final

import numpy as np
from numba import njit
from numpy.typing import NDArray

from farface.footage.background import DARK_SIGMAS, Background
from farface.footage.disc_fit import COLUMN, CONTRAST, EDGE, RADIUS, ROW, fit_disc
from farface.footage.disc_seat import seat_on_face
from farface.footage.overlap import split_pair
from farface.footage.runs import DARK
from farface.records import FilmScale

LEAST_RADIUS_PX: Final = 1.5
LEAST_CONTRAST_SIGMAS: Final = 2.5
MOST_MISFIT: Final = 0.4  # of a disc's visible pixels: those by which the patch differs from it
ROUND_MISFIT: Final = 0.02  # the same, above which a patch may be two discs,
PAIR_PIXELS: Final = 40  # of a patch that two discs could make, at least
BETTER: Final = 0.4  # if their misfit is this part of the one disc's

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
    frames: NDArray[np.uint8],
    background: Background,
    patches: NDArray[np.void],
    scale: FilmScale | None = None,
) -> NDArray[np.void]:
    """Turn the dark patches of frames, shape (time, row, column), into discs with the fields of `DISC`.

    A patch is dropped when the fit does not settle or does not look like a disc: contrast too near the
    noise, too little of the disc dark, or too much of the patch outside it. Two bubbles that overlap in the
    picture form one patch, which is taken apart into two discs where they fill it better than one. Given the
    film's scale, a disc is seated on the face where noise explains that its centre lies off it.
    """
    face = (math.inf, 0.0) if scale is None else (scale.face_row_px, scale.face_slope)
    dark = patches[patches["kind"] == DARK]
    discs = np.zeros(2 * dark.size, dtype=DISC)
    kept = _fit_all(
        frames,
        background.grey,
        background.usable,
        background.dark_limit,
        background.bright_limit,
        LEAST_CONTRAST_SIGMAS * background.noise_grey,
        face,
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
    face: tuple[float, float],
    patches: NDArray[np.void],
    discs: NDArray[np.void],
) -> int:
    """Fit every patch; fill ``discs`` with those that look like one and return their number."""
    kept = 0
    one, two = np.empty((1, 5)), np.empty((2, 5))
    slopes, curvature = np.empty((6, frames[0].size)), np.empty((5, 5))
    noise_grey = least_contrast / LEAST_CONTRAST_SIGMAS
    for patch in patches:
        frame = frames[patch.frame]
        _guess(patch, one[0])
        if one[0, RADIUS] > 0.0:
            if fit_disc(frame, grey, usable, bright_limit, one[0], slopes, curvature):
                seat_on_face(one[0], curvature, face[0], face[1], noise_grey)
            else:
                one[0, RADIUS] = 0.0
        misfit = _misfit(frame, dark_limit, usable, patch, one, least_contrast)
        if (
            misfit > ROUND_MISFIT
            and patch.pixels >= PAIR_PIXELS
            and split_pair(frame, grey, usable, dark_limit, bright_limit, patch, one[0], two, slopes)
        ):
            of_two = _misfit(frame, dark_limit, usable, patch, two, least_contrast)
            if of_two < min(BETTER * misfit, MOST_MISFIT):
                _keep(discs[kept], patch, two[0])
                _keep(discs[kept + 1], patch, two[1])
                kept += 2
                continue
        if misfit < MOST_MISFIT:
            _keep(discs[kept], patch, one[0])
            kept += 1
    return kept


@njit(cache=True, nogil=True)
def _keep(disc: Any, patch: Any, numbers: NDArray[np.float64]) -> None:
    disc.frame, disc.column, disc.row = patch.frame, numbers[COLUMN], numbers[ROW]
    disc.radius, disc.contrast, disc.edge = numbers[RADIUS], numbers[CONTRAST], numbers[EDGE]


@njit(cache=True, nogil=True)
def _misfit(
    frame: NDArray[np.uint8],
    dark_limit: NDArray[np.uint8],
    usable: NDArray[np.uint8],
    patch: Any,
    discs: NDArray[np.float64],
    least_contrast: float,
) -> float:
    """Compute how far a patch differs from discs, over the discs' visible pixels.

    Added are its pixels outside all discs and their soft edges, and the visible pixels missing from it beyond
    those that noise turns bright in a disc of this contrast. Infinite where a disc is too small or too faint.
    """
    contrast = np.min(discs[:, CONTRAST])
    if np.min(discs[:, RADIUS]) < LEAST_RADIUS_PX or contrast < least_contrast:
        return math.inf
    noise = max(1.0, least_contrast / LEAST_CONTRAST_SIGMAS)
    filled = 0.5 * math.erfc((DARK_SIGMAS - contrast / noise) / math.sqrt(2.0))
    visible, dark, dark_around = _count_inside(frame, dark_limit, usable, discs)
    if visible == 0:
        return math.inf
    missing = max(0.0, filled - dark / visible)
    return float(missing + max(0, patch.pixels - dark_around) / visible)


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
    discs: NDArray[np.float64],
) -> tuple[int, int, int]:
    """Count the usable pixels within discs, those of them dark, and the dark ones within two soft edges."""
    height, width = frame.shape
    reach = discs[:, RADIUS] + 2.0 * discs[:, EDGE]
    top, bottom = np.min(discs[:, ROW] - reach), np.max(discs[:, ROW] + reach)
    left, right = np.min(discs[:, COLUMN] - reach), np.max(discs[:, COLUMN] + reach)
    visible, dark, around = 0, 0, 0
    for i in range(max(0, int(top)), min(height, int(bottom) + 2)):
        for j in range(max(0, int(left)), min(width, int(right) + 2)):
            if usable[i, j] == 0:
                continue
            inside, near = False, False
            for k in range(discs.shape[0]):
                away2 = (i - discs[k, ROW]) ** 2 + (j - discs[k, COLUMN]) ** 2
                inside = inside or away2 < discs[k, RADIUS] * discs[k, RADIUS]
                near = near or away2 < reach[k] * reach[k]
            is_dark = frame[i, j] < dark_limit[i, j]
            visible += inside
            dark += inside and is_dark
            around += near and is_dark
    return visible, dark, around
