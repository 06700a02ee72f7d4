"""Follow how deep one floor lies, pass by pass, and narrow that with readings of its depth on the way.

A floor is a cloud of particles, each a depth h and a rate r, the depth of its next pass. Passes add h <- h +
n r. A reading d with error s weighs every particle with exp(-(d - h)^2 / (2 s^2)); the cloud is drawn anew by
these weights. Between readings the rate of a place wanders: r <- r exp(`DRIFT` z), z standard normal, because
a bath ages, a floor roughens and focus follows only roughly.
"""

import math
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from farface.kernel import Malformed
from farface.learn.depth import FINEST_SD_M

PARTICLES: Final = 4000
# Log-normal width by which the rate of one place changes from reading to reading. Assumed.
DRIFT: Final = 0.08
# A reading that fewer particles than this, by weight, agree with contradicts what was believed.
LEAST_AGREEING: Final = 20.0
# How far a contradicted belief is widened, as a log-normal width of the rate.
DOUBT: Final = 0.7


@dataclass(frozen=True, slots=True, kw_only=True)
class Floor:
    """Hold particles of one floor, shape (particle,): its depth, and the depth of its next pass."""

    depth_m: NDArray[np.float64]
    rate_m_per_pass: NDArray[np.float64]

    def after(self, passes: int) -> "Floor":
        """Return the floor after so many more passes."""
        return replace(self, depth_m=self.depth_m + passes * self.rate_m_per_pass)


def untouched_floor(
    depth_per_pass_m: NDArray[np.float64], width: NDArray[np.float64], rng: np.random.Generator
) -> Floor:
    """Begin at depth 0, from draws of a setting's median depth per pass and its width from place to place."""
    at = rng.integers(len(depth_per_pass_m), size=PARTICLES)
    rate = depth_per_pass_m[at] * np.exp(width[at] * rng.standard_normal(PARTICLES))
    return Floor(depth_m=np.zeros(PARTICLES), rate_m_per_pass=rate)


def with_reading(floor: Floor, rng: np.random.Generator, *, reading_m: float, sd_m: float) -> Floor:
    """Narrow a floor by a reading of its depth.

    When hardly any particle agrees, what was believed of the rate is widened first: a reading weighs more
    than a model. Raises `Malformed` for a reading below zero or an error that is none.
    """
    if not (reading_m >= 0.0 and sd_m >= 0.0 and math.isfinite(reading_m + sd_m)):
        raise Malformed(
            f"a depth of {reading_m * 1e6:g} um with an error of {sd_m * 1e6:g} um was read; both must be"
            " numbers from 0 up. Read again."
        )
    sd_m = max(sd_m, FINEST_SD_M)
    weights = _weights(floor, reading_m, sd_m)
    if weights.sum() ** 2 < LEAST_AGREEING * (weights**2).sum() or not weights.any():
        floor = _doubted(floor, rng)
        weights = _weights(floor, reading_m, sd_m)
    weights /= weights.sum()
    places = (np.arange(len(weights)) + rng.random()) / len(weights)
    drawn = np.minimum(np.searchsorted(np.cumsum(weights), places), len(weights) - 1)
    wander = np.exp(DRIFT * rng.standard_normal(len(weights)))
    return Floor(depth_m=floor.depth_m[drawn], rate_m_per_pass=floor.rate_m_per_pass[drawn] * wander)


def passes_left(floor: Floor, wanted_m: float) -> int:
    """Return how many more whole passes bring the floor nearest the wanted depth, in the median."""
    left_m = wanted_m - float(np.median(floor.depth_m))
    return max(0, round(left_m / float(np.median(floor.rate_m_per_pass))))


def _weights(floor: Floor, reading_m: float, sd_m: float) -> NDArray[np.float64]:
    exponent = -0.5 * ((reading_m - floor.depth_m) / sd_m) ** 2
    weights: NDArray[np.float64] = np.exp(exponent - exponent.max())
    # Only a cloud that reaches the reading may be scaled up to it.
    return weights if exponent.max() > -8.0 else np.zeros_like(weights)


def _doubted(floor: Floor, rng: np.random.Generator) -> Floor:
    """Scale depth and rate of every particle together, by a wide factor."""
    factor = np.exp(DOUBT * rng.standard_normal(len(floor.depth_m)))
    return Floor(depth_m=floor.depth_m * factor, rate_m_per_pass=floor.rate_m_per_pass * factor)
