"""Lay what was read off a film over its frames: one row a mark, in pixels, in order of frames."""

import math
from typing import Final

import numpy as np
from numpy.typing import NDArray

from farface.footage.coordinates import pixel_of
from farface.records import Bubble, FilmReading, Flash

BUBBLE: Final = 0
FLASH: Final = 1
# What a row of `film_marks` holds.
MARK_COLUMNS: Final = ("frame", "kind", "number", "column_px", "row_px", "radius_px")


def film_marks(reading: FilmReading) -> NDArray[np.float32]:
    """List the marks of a reading, shape (marks, 6), columns as `MARK_COLUMNS`.

    A bubble's disc has the radius read in that frame at its mean place; a flash is the disc of its area.
    """
    rows = [row for number, one in enumerate(reading.bubbles) for row in _discs(reading, number, one)]
    rows += [row for number, one in enumerate(reading.flashes) for row in _lit(reading, number, one)]
    table = np.array(rows, dtype=np.float32).reshape(-1, len(MARK_COLUMNS))
    return table[np.argsort(table[:, 0], kind="stable")]


def frame_at(reading: FilmReading, time_s: float) -> int:
    """Give the frame whose exposure has its middle at a time."""
    return round((time_s - 0.5 * reading.scale.exposure_s) * reading.scale.frame_hz)


def _discs(reading: FilmReading, number: int, bubble: Bubble) -> list[tuple[float, ...]]:
    column, row = pixel_of(reading.scale, along_m=bubble.along_m, below_m=bubble.below_m)
    return [
        (frame_at(reading, time_s), BUBBLE, number, column, row, radius_m / reading.scale.pixel_m)
        for time_s, radius_m in zip(bubble.times_s, bubble.radii_m, strict=True)
    ]


def _lit(reading: FilmReading, number: int, flash: Flash) -> list[tuple[float, ...]]:
    column, row = pixel_of(reading.scale, along_m=flash.along_m, below_m=flash.below_m)
    radius = math.sqrt(flash.area_m2 / math.pi) / reading.scale.pixel_m
    first = frame_at(reading, flash.time_s)
    return [(first + k, FLASH, number, column, row, radius) for k in range(flash.frames_lit)]
