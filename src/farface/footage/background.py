"""Learn what an empty frame looks like, and so which grey levels are an event."""

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from farface.kernel import Missing
from farface.records import FilmScale

FEWEST_FRAMES: Final = 8
DARK_SIGMAS: Final = 3.0  # at four sigmas of contrast five pixels in six pass, one empty one in 700
BRIGHT_SIGMAS: Final = 8.0
DARK_LEAST_GREY: Final = 4.0  # compression leaves steps of a few grey levels and next to no noise
BRIGHT_LEAST_GREY: Final = 25.0
FACE_GUARD_PX: Final = 3.0  # half the face's dark line and its blur


@dataclass(frozen=True, slots=True, kw_only=True)
class Background:
    """Hold an empty frame and its limits, each of shape (row, column).

    A pixel below ``dark_limit`` may be a bubble, one above ``bright_limit`` a flash. ``usable`` is 1 where
    a bubble can be seen: in the bath, clear of the face's own dark line.
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
    grey = np.median(frames, axis=0).astype(np.float32)
    noise_grey = _noise(frames)
    dark = np.ceil(grey - max(DARK_SIGMAS * noise_grey, DARK_LEAST_GREY))
    bright = np.floor(grey + max(BRIGHT_SIGMAS * noise_grey, BRIGHT_LEAST_GREY))
    usable = _in_bath(grey.shape, scale)
    return Background(
        grey=grey,
        noise_grey=noise_grey,
        dark_limit=(np.clip(dark, 0.0, 255.0) * usable).astype(np.uint8),
        bright_limit=np.where(bright >= 254.0, 255.0, bright).astype(np.uint8),
        usable=usable,
    )


def _noise(frames: NDArray[np.uint8]) -> float:
    """Estimate the noise of a pixel, in grey levels, from every second row and column."""
    spread = frames[:, ::2, ::2].std(axis=0, dtype=np.float32)
    return float(np.median(spread))


def _in_bath(shape: tuple[int, ...], scale: FilmScale) -> NDArray[np.uint8]:
    """Mark with 1 the pixels that lie below the face, clear of its dark line."""
    rows, columns = np.arange(shape[0])[:, None], np.arange(shape[1])[None, :]
    down_px = rows - scale.face_row_px - scale.face_slope * columns
    return (down_px / math.hypot(1.0, scale.face_slope) > FACE_GUARD_PX).astype(np.uint8)
