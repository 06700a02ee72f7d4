"""Hold what every kind of film gives: its size, and its frames one after another."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import Final

import numpy as np
from numpy.typing import NDArray

Frame = NDArray[np.uint8]

MOST_PIXELS: Final = 64 * 1024 * 1024  # of a frame: a header that promises more is damaged


class FilmEnds(Exception):
    """Say why no more frames can be read, where that is before the end that was promised."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FilmSource:
    """Hold an opened film: ``frames`` reads it from the first on, each frame of shape (row, column).

    ``playback_hz`` is the rate of playback, which is not the camera's; ``promised`` the least number of
    frames that its header promises, where it does. ``notes`` are sentences on what is odd about the film,
    complete once it was read.
    """

    width_px: int
    height_px: int
    playback_hz: float | None
    promised: int | None
    frames: Callable[[], Iterator[Frame]]
    notes: list[str] = field(default_factory=list)
