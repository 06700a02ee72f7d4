"""Choose where a plan stops for a reading: after which pass, and at which places of the shape."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from farface.part.shapes import Shape
from farface.records import Pass, Wanted

# Shares of the wanted depth at which a floor is read: early enough to correct, late enough to be sure.
STOPS_SHARES: Final = (0.3, 0.6, 0.85)
# Less than this to etch, or fewer passes since the last reading, is not worth a stop.
LEAST_DEPTH_M: Final = 10e-6
LEAST_PASSES: Final = 4
PLACES: Final = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Stop:
    """Hold one stop: after pass ``number`` of the plan, the ``passes``-th over its shape, read the depth.

    ``places_m``, shape (place, 2), are points of that pass; ``expected_m`` is what the plan expects there.
    """

    shape: str
    number: int
    passes: int
    places_m: NDArray[np.float64]
    expected_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Done:
    """Hold what of a shape is done: passes run, and, as read, its depth and the depth of its next pass."""

    passes: int
    depth_m: float
    depth_m_per_pass: float


def stops_of(
    goal: Wanted,
    shape: Shape,
    passes: Sequence[Pass],
    *,
    start_m: float,
    floor_m: float,
    per_pass_m: float,
    before: int,
) -> Iterator[Stop]:
    """Yield the stops of one shape, whose passes still to run start from a floor ``floor_m`` deep.

    ``before`` passes over the shape have been run, from a floor ``start_m`` deep. A cut is looked through,
    not read.
    """
    to_etch_m = goal.depth_m - start_m
    if goal.kind == "cut" or to_etch_m < LEAST_DEPTH_M or not passes:
        return
    places = places_m(shape, passes[0].points_m)
    for share in STOPS_SHARES:
        count = round((start_m + share * to_etch_m - floor_m) / per_pass_m)
        if LEAST_PASSES <= count < len(passes):
            yield Stop(
                shape=goal.shape, number=passes[count - 1].number, passes=before + count, places_m=places,
                expected_m=floor_m + count * per_pass_m,
            )  # fmt: skip


def places_m(shape: Shape, points_m: NDArray[np.float64]) -> NDArray[np.float64]:
    """Choose places to read: the middle, and halfway from it to the ends of the longer side.

    Each is the fired point nearest to that, so that it lies on the floor whatever the outline.
    """
    low, high = points_m.min(axis=0), points_m.max(axis=0)
    middle, half = 0.5 * (low + high), 0.25 * (high - low)
    if shape.kind == "pocket":
        half = half * (half == half.max())
    wished = [middle, middle - half, middle + half][:PLACES]
    nearest = [int(np.argmin(((points_m - wish) ** 2).sum(axis=1))) for wish in wished]
    return points_m[list(dict.fromkeys(nearest))]
