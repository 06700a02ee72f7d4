"""Learn what an empty frame looks like, and so which grey levels are an event."""

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from farface.footage.median import median_grey
from farface.kernel import Missing
from farface.records import FilmScale

FEWEST_FRAMES: Final = 8
DARK_SIGMAS: Final = 3.0  # at four sigmas of contrast five pixels in six pass, one empty one in 700
BRIGHT_SIGMAS: Final = 8.0
WHITE_SIGMAS: Final = (
    4.0  # in noise that reaches white, what is white is a flash if the bath lies so far below
)
NEARLY_WHITE: Final = 250.0
DARK_LEAST_GREY: Final = 4.0  # compression leaves steps of a few grey levels and next to no noise
BRIGHT_LEAST_GREY: Final = 25.0
DIRT_CELL_PX: Final = 4  # dirt is told from the grey around it on every fourth row and column,
DIRT_CELLS: Final = 9  # in a window of so many of them,
DIRT_SHARE: Final = 0.2  # by so much of that grey
FACE_GUARD_PX: Final = 3.0  # half the face's dark line and its blur


@dataclass(frozen=True, slots=True, kw_only=True)
class Background:
    """Hold an empty frame and its limits, each of shape (row, column).

    A pixel below ``dark_limit`` may be a bubble, one above ``bright_limit`` a flash. ``usable`` is 1 where
    a bubble can be seen: in the bath, clear of the face's own dark line, of dirt and of stuck pixels.
    """

    grey: NDArray[np.float32]
    noise_grey: float
    dark_limit: NDArray[np.uint8]
    bright_limit: NDArray[np.uint8]
    usable: NDArray[np.uint8]


def learn_background(frames: NDArray[np.uint8], scale: FilmScale) -> Background:
    """Learn the background from frames, shape (time, row, column): each pixel's median over time.

    The noise is the median over pixels of the standard deviation over time, so events may pass over
    fewer than half of the pixels, and over each pixel for less than half of the frames. Where the empty
    frame is nearly white no flash can be told from it and none is looked for. Raises `Missing` below
    eight frames, which could not tell a bubble from the background.
    """
    if frames.shape[0] < FEWEST_FRAMES:
        raise Missing(
            f"the film has {frames.shape[0]} readable frames, but at least {FEWEST_FRAMES} are needed to "
            "tell an event from the background. Give a longer film."
        )
    grey = median_grey(frames)
    bath = _in_bath(grey.shape, scale)
    return _with_limits(grey, _noise(frames), bath & ~_is_dirt(grey, bath))


def brightened(background: Background, change_grey: NDArray[np.float32]) -> Background:
    """Add a slow change of light, shape (row, column), to a background."""
    return _with_limits(background.grey + change_grey, background.noise_grey, background.usable > 0)


def _with_limits(grey: NDArray[np.float32], noise_grey: float, clear: NDArray[np.bool_]) -> Background:
    dark = np.ceil(grey - max(DARK_SIGMAS * noise_grey, DARK_LEAST_GREY))
    bright = np.floor(grey + max(BRIGHT_SIGMAS * noise_grey, BRIGHT_LEAST_GREY))
    white = np.where(grey + WHITE_SIGMAS * noise_grey < NEARLY_WHITE, NEARLY_WHITE, 255.0)
    usable = clear.astype(np.uint8)
    return Background(
        grey=grey,
        noise_grey=noise_grey,
        dark_limit=(np.clip(dark, 0.0, 255.0) * usable).astype(np.uint8),
        bright_limit=np.where(bright >= NEARLY_WHITE, white, bright).astype(np.uint8),
        usable=usable,
    )


def _noise(frames: NDArray[np.uint8]) -> float:
    """Estimate the noise of a pixel, in grey levels, from every second row and column."""
    spread = frames[:, ::2, ::2].std(axis=0, dtype=np.float32)
    return float(np.median(spread))


def _is_dirt(grey: NDArray[np.float32], bath: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Mark the pixels of the bath whose empty grey stands out of the grey around, and their neighbours."""
    from scipy.ndimage import binary_dilation, median_filter

    cells, wet = grey[::DIRT_CELL_PX, ::DIRT_CELL_PX], bath[::DIRT_CELL_PX, ::DIRT_CELL_PX]
    if not wet.any():
        return np.zeros_like(bath)
    first = np.argmax(wet, axis=0)  # above the bath its topmost row goes on, so that the glass has no say
    rows = np.maximum(np.arange(cells.shape[0])[:, None], first[None, :])
    around = median_filter(np.take_along_axis(cells, rows, axis=0), DIRT_CELLS, mode="nearest")
    around = np.repeat(np.repeat(around, DIRT_CELL_PX, axis=0), DIRT_CELL_PX, axis=1)
    around = around[: grey.shape[0], : grey.shape[1]]
    dirty = bath & (np.abs(grey - around) > DIRT_SHARE * around)
    return np.asarray(binary_dilation(dirty, np.ones((3, 3), dtype=np.bool_)))


def _in_bath(shape: tuple[int, ...], scale: FilmScale) -> NDArray[np.bool_]:
    """Mark the pixels that lie below the face, clear of its dark line."""
    rows, columns = np.arange(shape[0])[:, None], np.arange(shape[1])[None, :]
    down_px = rows - scale.face_row_px - scale.face_slope * columns
    return np.asarray(down_px / math.hypot(1.0, scale.face_slope) > FACE_GUARD_PX)
