"""Say what a film misses: the smallest it can show, the share it finds, and rates corrected for it."""

import math
from dataclasses import dataclass
from itertools import islice
from statistics import median
from typing import Final

import numpy as np

from farface.app.film_reading import FilmAt
from farface.footage.completeness import (
    ShareFound,
    bubbles_found,
    corrected_count,
    flashes_found,
    smallest_shown_m,
)
from farface.footage.intervals import Bounded
from farface.footage.look import look_of
from farface.kernel import show_quantity
from farface.records import FilmReading

PIECE_FRAMES: Final = 256  # of the film, into which drawn events are put
RADII_PX: Final = (2.0, 3.0, 4.5, 7.0, 10.0, 15.0, 22.0)
TRIES: Final = 80
FEWEST_FRAMES: Final = 64


@dataclass(frozen=True, slots=True, kw_only=True)
class Missed:
    """Hold the shares found by size, the smallest bubble shown, and counts corrected for what is missed."""

    bubbles: tuple[ShareFound, ...]
    flashes: tuple[ShareFound, ...]
    smallest_bubble_m: float | None
    bubble_count: Bounded
    flash_rate_hz: Bounded


def what_is_missed(at: FilmAt, reading: FilmReading, rng: np.random.Generator) -> Missed | None:
    """Add drawn events to the film's first frames and read them again; None where those are too few."""
    piece = list(islice(at.open().frames(), min(PIECE_FRAMES, reading.frames)))
    if len(piece) < FEWEST_FRAMES:
        return None
    frames, scale = np.stack(piece), reading.scale
    look = look_of(frames, reading)
    radii_m = [radius_px * scale.pixel_m for radius_px in RADII_PX]
    bubbles = bubbles_found(frames, scale, look, radii_m, tries=TRIES, rng=rng)
    flash_m = [math.sqrt(flash.area_m2 / math.pi) for flash in reading.flashes]
    typical_m = median(flash_m) if flash_m else 3.0 * scale.pixel_m
    flashes = flashes_found(frames, scale, look, [typical_m], tries=2 * TRIES, rng=rng)
    seen = corrected_count([typical_m] * len(flash_m), flashes)
    return Missed(
        bubbles=bubbles,
        flashes=flashes,
        smallest_bubble_m=smallest_shown_m(bubbles),
        bubble_count=corrected_count([bubble.radius_max_m for bubble in reading.bubbles], bubbles),
        flash_rate_hz=Bounded(
            value=seen.value / reading.duration_s,
            low=seen.low / reading.duration_s,
            high=seen.high / reading.duration_s,
        ),
    )


def missed_rows(missed: Missed) -> tuple[tuple[str, str], ...]:
    """Tell it in rows of a table."""
    smallest = missed.smallest_bubble_m
    shown = "none of those tried" if smallest is None else f"{show_quantity(smallest, 'm')} radius"
    count, rate, flash = missed.bubble_count, missed.flash_rate_hz, missed.flashes[0].share
    return (
        ("smallest bubble of which this film shows half", shown),
        (
            "bubbles, with those it must have missed",
            f"{count.value:.0f} ({count.low:.0f} to {count.high:.0f}; drawn bubbles added and read again)",
        ),
        ("share of flashes that this film shows", f"{100 * flash.value:.0f} %"),
        ("flashes a second, with those it missed", f"{rate.value:.0f} ({rate.low:.0f} to {rate.high:.0f})"),
    )
