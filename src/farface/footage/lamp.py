"""Even out the lamp: its flicker from frame to frame, and its slow drift over the picture."""

from typing import Final

import numpy as np
from numba import njit
from numpy.typing import NDArray

from farface.footage.median import median_grey

GRID_PX: Final = 8  # the light is measured on every so many rows and columns
DARKEST_GREY: Final = 20.0  # pixels darker, or as good as white, tell nothing of the light
BRIGHTEST_GREY: Final = 245.0
FEWEST_PIXELS: Final = 50
MOST_RATIO: Final = 4.0
BINS_PER_ONE: Final = 128.0  # wider than the steps of whole grey levels, which would leave bins empty
SLOW_FRAMES: Final = 8  # of so many frames one is enough to follow what changes slowly
STEADY_GREY: Final = 1.0  # a frame whose light differs by less than a grey level is left as it is
SHOWS_GREY: Final = 1.5  # a slow change smaller than this is noise
SMOOTH_CELLS: Final = 5  # of the grid: what varies over less than 40 px is no light
WHITE: Final = 255


def light_ratio(frames: NDArray[np.uint8], grey: NDArray[np.float32]) -> NDArray[np.float64]:
    """Compute each frame's light over that of the empty frame ``grey``, shape (time,).

    The median over a grid of pixels, so events may cover nearly half of the picture; 1 where too few pixels
    lie between black and white to tell.
    """
    ratios = np.ones(len(frames))
    _median_ratios(frames, grey, ratios)
    return ratios


@njit(cache=True, nogil=True)
def _median_ratios(frames: NDArray[np.uint8], grey: NDArray[np.float32], ratios: NDArray[np.float64]) -> None:
    """Fill in the medians, by counting ratios in bins; a grid of pixels tells it to a part of a bin."""
    counts = np.empty(int(MOST_RATIO * BINS_PER_ONE) + 1, dtype=np.int64)
    for number in range(frames.shape[0]):
        counts[:] = 0
        told = 0
        for i in range(0, grey.shape[0], GRID_PX):
            for j in range(0, grey.shape[1], GRID_PX):
                if DARKEST_GREY < grey[i, j] < BRIGHTEST_GREY:
                    at = min(frames[number, i, j] / grey[i, j], MOST_RATIO)
                    counts[int(at * BINS_PER_ONE)] += 1
                    told += 1
        if told < FEWEST_PIXELS:
            return
        below, k = 0, 0
        while 2 * (below + counts[k]) < told:
            below += counts[k]
            k += 1
        ratios[number] = (k + (0.5 * told - below) / counts[k]) / BINS_PER_ONE


def even_out(
    frames: NDArray[np.uint8], light_ratio: NDArray[np.float64], typical_grey: float
) -> NDArray[np.uint8]:
    """Divide frames by their light, where it differs by enough to show; white stays white.

    Frames, shape (time, row, column), are not changed; they are returned themselves when all are steady.
    """
    unsteady = np.abs(light_ratio - 1.0) * typical_grey > STEADY_GREY
    if not unsteady.any():
        return frames
    levels = np.arange(256.0)
    evened = np.empty_like(frames)
    for number, frame in enumerate(frames):
        if unsteady[number]:
            table = np.clip(np.rint(levels / max(light_ratio[number], 1e-3)), 0.0, 255.0).astype(np.uint8)
            table[WHITE] = WHITE
            _look_up(frame, table, evened[number])
        else:
            evened[number] = frame
    return evened


def slow_change_grey(frames: NDArray[np.uint8], grey: NDArray[np.float32]) -> NDArray[np.float32] | None:
    """Compute how much brighter a stretch of frames is than ``grey``, shape (row, column), if that shows.

    The median over time of a grid of pixels less ``grey``, smoothed by a median and a mean over
    `SMOOTH_CELLS`, so that bubbles, dirt and edges have no say; None below `SHOWS_GREY` in every block.
    """
    from scipy.ndimage import median_filter, uniform_filter

    grid = np.ascontiguousarray(frames[::SLOW_FRAMES, ::GRID_PX, ::GRID_PX])
    change = (median_grey(grid) - grey[::GRID_PX, ::GRID_PX]).astype(np.float64)
    if np.max(np.abs(_block_medians(change))) < SHOWS_GREY:
        return None
    smooth = uniform_filter(median_filter(change, SMOOTH_CELLS, mode="nearest"), SMOOTH_CELLS, mode="nearest")
    return _spread(smooth, grey.shape)


def _block_medians(grid: NDArray[np.float64]) -> NDArray[np.float64]:
    """Take the medians of blocks of `SMOOTH_CELLS` squared, or of all of a grid smaller than that."""
    high, wide = (size // SMOOTH_CELLS for size in grid.shape)
    if high == 0 or wide == 0:
        return np.atleast_1d(np.median(grid))
    blocks = grid[: high * SMOOTH_CELLS, : wide * SMOOTH_CELLS]
    blocks = blocks.reshape(high, SMOOTH_CELLS, wide, SMOOTH_CELLS).swapaxes(1, 2)
    return np.asarray(np.median(blocks.reshape(high, wide, -1), axis=2))


def _spread(grid: NDArray[np.float64], shape: tuple[int, ...]) -> NDArray[np.float32]:
    """Interpolate from every eighth pixel to all, in straight lines."""
    spread = grid
    for axis in (0, 1):
        at = np.minimum(np.arange(shape[axis]) / GRID_PX, spread.shape[axis] - 1.0)
        below = np.minimum(at.astype(np.intp), max(0, spread.shape[axis] - 2))
        above = np.minimum(below + 1, spread.shape[axis] - 1)
        way = (at - below)[:, None] if axis == 0 else (at - below)[None, :]
        first, second = np.take(spread, below, axis), np.take(spread, above, axis)
        spread = first * (1.0 - way) + second * way
    return np.asarray(spread, dtype=np.float32)


@njit(cache=True, nogil=True)
def _look_up(frame: NDArray[np.uint8], table: NDArray[np.uint8], target: NDArray[np.uint8]) -> None:
    for i in range(frame.shape[0]):
        for j in range(frame.shape[1]):
            target[i, j] = table[frame[i, j]]
