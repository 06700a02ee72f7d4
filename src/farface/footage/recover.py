"""Add drawn events to a piece of a film, read it again, and say which of them were found."""

import math
from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from farface.footage.coordinates import pixel_of
from farface.footage.drawn import TrueBubble, TrueFlash, true_life_s
from farface.footage.inject import add_bubble, add_flash
from farface.footage.look import Look
from farface.footage.read import read_footage
from farface.records import Bubble, FilmReading, FilmScale, Flash

Drawn = TrueBubble | TrueFlash

MOST_AT_ONCE: Final = 12  # events added to one copy of the frames
CLEAR_PX: Final = 8.0  # events added keep this far from one another, beyond their radii,
CLEAR_FRAMES: Final = 4  # or so many frames
NEAR_PX: Final = 3.0  # a found event lies this near its drawn one,
NEAR_RADII: Final = 0.5  # or this many radii, whichever is more


def recover(
    frames: NDArray[np.uint8], scale: FilmScale, events: Sequence[Drawn], look: Look
) -> NDArray[np.bool_]:
    """Say of each event whether it is found, shape (event,), once it was added to copies of frames.

    Frames have shape (time, row, column); events added to one copy keep clear of one another, but not of
    what the film shows by itself. Found is an event read near the drawn one, while it lasts, that was not
    read without it.
    """
    before = read_footage(frames, scale, "film")
    known: set[Bubble | Flash] = {*before.bubbles, *before.flashes}
    found = np.zeros(len(events), dtype=np.bool_)
    for group in _groups(scale, events):
        copy = frames.copy()
        for number in group:
            _add(copy, scale, events[number], look)
        reading = read_footage(copy, scale, "film")
        for number in group:
            found[number] = _is_read(reading, known, scale, events[number])
    return found


def _add(frames: NDArray[np.uint8], scale: FilmScale, event: Drawn, look: Look) -> None:
    if isinstance(event, TrueBubble):
        add_bubble(frames, scale, event, contrast_grey=look.contrast_grey, edge_px=look.edge_px)
    else:
        add_flash(frames, scale, event, excess_grey=look.excess_grey, edge_px=look.edge_px)


def _is_read(reading: FilmReading, known: set[Bubble | Flash], scale: FilmScale, event: Drawn) -> bool:
    first_s, last_s, radius_m = _span(event)
    frame_s = 1.0 / scale.frame_hz
    near_m = max(NEAR_PX * scale.pixel_m, NEAR_RADII * radius_m)
    read: Sequence[Bubble | Flash] = reading.bubbles if isinstance(event, TrueBubble) else reading.flashes
    return any(
        found not in known
        and math.hypot(found.along_m - event.along_m, found.below_m - event.below_m) < near_m
        and any(first_s - frame_s <= time_s <= last_s + frame_s for time_s in _times_s(found))
        for found in read
    )


def _times_s(found: Bubble | Flash) -> tuple[float, ...]:
    return found.times_s if isinstance(found, Bubble) else (found.time_s,)


def _span(event: Drawn) -> tuple[float, float, float]:
    """Give an event's beginning, its end and its radius."""
    if isinstance(event, TrueBubble):
        return event.start_s, event.start_s + true_life_s(event), event.radius_max_m
    return event.time_s, event.time_s, event.radius_m


def _groups(scale: FilmScale, events: Sequence[Drawn]) -> list[list[int]]:
    """Share events, by number, among copies so that those of one copy keep clear of one another."""
    groups: list[list[int]] = []
    for number, event in enumerate(events):
        for group in groups:
            if len(group) < MOST_AT_ONCE and all(_clear(scale, event, events[k]) for k in group):
                group.append(number)
                break
        else:
            groups.append([number])
    return groups


def _clear(scale: FilmScale, one: Drawn, other: Drawn) -> bool:
    (first_s, last_s, radius_m), (first2_s, last2_s, radius2_m) = _span(one), _span(other)
    gap_s = CLEAR_FRAMES / scale.frame_hz
    if first_s > last2_s + gap_s or first2_s > last_s + gap_s:
        return True
    column, row = pixel_of(scale, along_m=one.along_m, below_m=one.below_m)
    column2, row2 = pixel_of(scale, along_m=other.along_m, below_m=other.below_m)
    return math.hypot(column - column2, row - row2) > (radius_m + radius2_m) / scale.pixel_m + CLEAR_PX
