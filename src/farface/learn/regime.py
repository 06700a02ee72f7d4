"""Say in which regime a film shows the process: steady, occasional, bursts below, or runaway; with odds."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import NDArray

from farface.records import FilmReading

STEADY, OCCASIONAL, BURSTS, RUNAWAY = "steady at the face", "occasional", "bursts below", "runaway"

# The share of flashes that are wider than the last one at their place, as the two numbers of a beta
# distribution: most in a runaway; else about half, as of numbers drawn from one hat. Assumed; no film
# calibrated them.
GROWING, AS_BEFORE = (8.0, 2.0), (5.0, 5.0)

# What each regime makes of three shares, in the same way: points that ignite, events that lie deeper than
# their own radius, flashes that grow on the last one. Assumed: they put into numbers what practitioners say
# of each regime, without a source, and no film calibrated them.
EXPECTED: Final[Mapping[str, tuple[tuple[float, float], ...]]] = {
    STEADY: ((4.0, 2.0), (1.0, 6.0), AS_BEFORE),
    OCCASIONAL: ((1.0, 9.0), (1.0, 4.0), AS_BEFORE),
    BURSTS: ((3.0, 2.0), (6.0, 2.0), AS_BEFORE),
    RUNAWAY: ((4.0, 2.0), (1.0, 3.0), GROWING),
}
SAME_PLACE_RADII: Final = 1.5  # flashes nearer than this, in their own radii, are at one place
FEWEST_AT_PLACE: Final = 3
MOST_COUNTED: Final = 20  # events are alike, so more of them than this are no more evidence


@dataclass(frozen=True, slots=True, kw_only=True)
class Tally:
    """Hold how many of how many points ignited, events lay deep, and flashes grew at their place."""

    ignited: tuple[int, int]
    deep: tuple[int, int]
    growing: tuple[int, int]


def tally(reading: FilmReading, *, point_s: float) -> Tally:
    """Count what tells the regimes apart; ``point_s`` is the time from one point to the next."""
    points = max(1, round(reading.duration_s / point_s))
    events = reading.bubbles or reading.flashes
    pixel_m = reading.scale.pixel_m
    deep = sum(bubble.below_m > bubble.radius_max_m + pixel_m for bubble in reading.bubbles)
    return Tally(
        ignited=(min(points, len(events)), points),
        deep=(deep, len(reading.bubbles)),
        growing=count_growing(reading),
    )


def regime_odds(counts: Tally) -> dict[str, float]:
    """Compute the odds of each regime, alike beforehand, from beta-binomial likelihoods of the counts.

    They add up to 1. Counts above `MOST_COUNTED` are scaled down to it. A film that shows nothing leaves the
    odds to the share of points that ignite, which is none: "occasional".
    """
    logs = np.array([_log_likelihood(counts, expected) for expected in EXPECTED.values()])
    odds = np.exp(logs - logs.max())
    return dict(zip(EXPECTED, (odds / odds.sum()).tolist(), strict=True))


def log_growing(growing: tuple[int, int], runaway_odds: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the log probability that so many of so many flashes grew, for each draw's odds of a runaway.

    The film shows either a runaway or none, so it is the log of the two probabilities' mean, weighted by
    the odds. It is all that the regime adds to what `farface.learn.film` counts: how often points ignite and
    how deep events lie are the other two shares that tell regimes apart, and enter there already.
    """
    runs, stays = (math.exp(_log_share(growing, shape)) for shape in (GROWING, AS_BEFORE))
    return np.asarray(np.log(runaway_odds * runs + (1.0 - runaway_odds) * stays))


def _log_likelihood(counts: Tally, expected: tuple[tuple[float, float], ...]) -> float:
    shares = (counts.ignited, counts.deep, counts.growing)
    return sum(_log_share(share, shape) for share, shape in zip(shares, expected, strict=True))


def _log_share(counted: tuple[int, int], shape: tuple[float, float]) -> float:
    """Return the beta-binomial log probability of one order of ``some`` among ``of``, scaled to the most."""
    from scipy.special import betaln

    (some, of), (a, b) = counted, shape
    scale = min(1.0, MOST_COUNTED / of) if of else 0.0
    return float(betaln(a + scale * some, b + scale * (of - some)) - betaln(a, b))


def count_growing(reading: FilmReading) -> tuple[int, int]:
    """Count flashes wider than the last one at their place, of those that differ from it.

    Only places where at least three came are looked at; a flash as wide as the last one says nothing.
    """
    places: list[list[tuple[float, float]]] = []
    for flash in reading.flashes:
        radius_m = float(np.sqrt(flash.area_m2 / np.pi))
        here = [p for p in places if abs(p[0][0] - flash.along_m) < SAME_PLACE_RADII * radius_m]
        if here:
            here[0].append((flash.along_m, flash.area_m2))
        else:
            places.append([(flash.along_m, flash.area_m2)])
    steps = [
        later[1] > earlier[1]
        for place in places
        if len(place) >= FEWEST_AT_PLACE
        for earlier, later in pairwise(place)
        if later[1] != earlier[1]
    ]
    return sum(steps), len(steps)
