"""Hold all that a film shows: bubbles and flashes, and beside them columns, rebounds, debris, images."""

from dataclasses import dataclass

from farface.footage.columns import VapourColumn
from farface.records import Bubble, FilmReading


@dataclass(frozen=True, slots=True, kw_only=True)
class Rebound:
    """Hold the largest radii of a bubble and of its rebound, and when the rebound was first seen."""

    first_s: float
    along_m: float
    below_m: float
    bubble_radius_m: float
    rebound_radius_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class FilmEvents:
    """Hold a film's reading with what is neither a flash nor a bubble that lives and dies.

    ``lasting`` are round things that hardly change for many frames: debris, or gas that does not condense.
    ``mirrored_share`` is the share of discs whose image shows in the glass, of those whose image would lie in
    the picture; None if none would.
    """

    reading: FilmReading
    columns: tuple[VapourColumn, ...]
    rebounds: tuple[Rebound, ...]
    lasting: tuple[Bubble, ...]
    mirrored_share: float | None
