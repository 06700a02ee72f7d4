"""Hold what every kind of film gives: its size, and its frames one after another."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import Final

import numpy as np
from numpy.typing import NDArray

Frame = NDArray[np.uint8]

SPAN_FRAMES: Final = 256  # of a span, at least
MOST_PIXELS: Final = 64 * 1024 * 1024  # of a frame: a header that promises more is damaged


class FilmEnds(Exception):
    """Say why no more frames can be read, where that is before the end that was promised."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """Hold a piece of a film that can be read by itself: the number of its first frame, and where it lies.

    ``start`` and ``end`` are in the file's own measure, a frame's number, a page's offset or a time stamp;
    None stands for the film's beginning and its end.
    """

    first: int = 0
    start: int | None = None
    end: int | None = None


WHOLE: Final = Span()


def even_spans(count: int) -> tuple[Span, ...]:
    """Cut a film whose frames are found by their number into spans of `SPAN_FRAMES`; the last is longer."""
    starts = range(0, max(1, count - SPAN_FRAMES + 1), SPAN_FRAMES)
    ends = [*starts[1:], None]
    return tuple(Span(first=at, start=at, end=end) for at, end in zip(starts, ends, strict=True))


@dataclass(frozen=True, slots=True, kw_only=True)
class FilmSource:
    """Hold an opened film: ``frames`` reads a span of it, each frame of shape (row, column).

    ``spans`` cuts the film, always in the same places; read one after another they are the whole.
    ``playback_hz`` is the rate of playback, which is not the camera's; ``promised`` the least number of
    frames that its header promises, where it does. ``notes`` are sentences on what is odd about the film,
    complete once it was cut into spans.
    """

    width_px: int
    height_px: int
    playback_hz: float | None
    promised: int | None
    frames: Callable[[Span], Iterator[Frame]]
    spans: Callable[[], tuple[Span, ...]]
    notes: list[str] = field(default_factory=list)
