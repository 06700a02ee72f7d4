"""Draw what was read off a film onto its frames: circles, flashes, the face."""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from typing import Final

import numpy as np
from numpy.typing import NDArray

from farface.footage.coordinates import pixel_of
from farface.records import FilmReading, FilmScale

STEPS: Final = 180  # points of a circle
LIGHT: Final = 255
DARK: Final = 0
DASH_PX: Final = 6
FLASH_ARM_PX: Final = 5


def annotated(frames: Iterable[NDArray[np.uint8]], reading: FilmReading) -> Iterator[NDArray[np.uint8]]:
    """Mark frames, each of shape (row, column): white circles on dark bubbles, dark crosses on flashes.

    The face is a dashed line. Frames after the end of the reading are left out.
    """
    bubbles, flashes = _by_frame(reading)
    for number, frame in enumerate(frames):
        if number >= reading.frames:
            return
        marked = frame.copy()
        _draw_face(marked, reading.scale)
        for column, row, radius in bubbles[number]:
            turn = np.linspace(0.0, 2.0 * np.pi, STEPS)
            _dots(marked, column + radius * np.cos(turn), row + radius * np.sin(turn), LIGHT)
        for column, row in flashes[number]:
            arm = np.arange(-FLASH_ARM_PX, FLASH_ARM_PX + 1.0)
            _dots(marked, column + arm, row + 0.0 * arm, DARK)
            _dots(marked, column + 0.0 * arm, row + arm, DARK)
        yield marked


Circles = dict[int, list[tuple[float, float, float]]]
Crosses = dict[int, list[tuple[float, float]]]


def _by_frame(reading: FilmReading) -> tuple[Circles, Crosses]:
    """Sort circles and crosses, in pixels, by the frame that shows them."""
    scale = reading.scale
    bubbles: Circles = defaultdict(list)
    flashes: Crosses = defaultdict(list)
    for bubble in reading.bubbles:
        column, row = pixel_of(scale, along_m=bubble.along_m, below_m=bubble.below_m)
        for time_s, radius_m in zip(bubble.times_s, bubble.radii_m, strict=True):
            bubbles[_frame_of(scale, time_s)].append((column, row, radius_m / scale.pixel_m))
    for flash in reading.flashes:
        first = _frame_of(scale, flash.time_s)
        for number in range(first, first + flash.frames_lit):
            flashes[number].append(pixel_of(scale, along_m=flash.along_m, below_m=flash.below_m))
    return bubbles, flashes


def _frame_of(scale: FilmScale, time_s: float) -> int:
    return round((time_s - 0.5 * scale.exposure_s) * scale.frame_hz)


def _draw_face(frame: NDArray[np.uint8], scale: FilmScale) -> None:
    columns = np.arange(frame.shape[1])
    columns = columns[columns // DASH_PX % 2 == 0]
    _dots(frame, columns, scale.face_row_px + scale.face_slope * columns, LIGHT)


def _dots(
    frame: NDArray[np.uint8], columns: NDArray[np.float64], rows: NDArray[np.float64], level: int
) -> None:
    """Set the pixels nearest to points, where they lie in the frame."""
    i, j = np.rint(rows).astype(np.intp), np.rint(columns).astype(np.intp)
    inside = (i >= 0) & (j >= 0) & (i < frame.shape[0]) & (j < frame.shape[1])
    frame[i[inside], j[inside]] = level
