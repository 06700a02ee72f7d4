"""Turn what was read off a film into rates, lives and depths with honest bounds."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from farface.footage.intervals import CONFIDENCE, Bounded, count_bounds, share_of
from farface.kernel import Missing, OutOfRange
from farface.materials.bubble_life import WATER_KG_PER_M3, WATER_OVERPRESSURE_PA, radius_from_life_m
from farface.records import FilmReading

QUANTILES: Final = (0.05, 0.25, 0.5, 0.75, 0.95)


@dataclass(frozen=True, slots=True, kw_only=True)
class FootageMeasures:
    """Hold a film's measures; empty quantiles mean that nothing was there to measure.

    Quantiles stand at `QUANTILES`. ``radius_from_life_m`` are those of Rayleigh's radius for each life,
    beside ``radius_seen_m``, the largest radii read.
    """

    flash_rate_hz: Bounded
    interval_s: tuple[float, ...]
    life_s: tuple[float, ...]
    radius_seen_m: tuple[float, ...]
    radius_from_life_m: tuple[float, ...]
    below_m: tuple[float, ...]
    warnings: tuple[str, ...]


def measure_footage(reading: FilmReading, *, rate_hz: float | None = None) -> FootageMeasures:
    """Measure a reading; ``rate_hz`` is the pulse rate of the laser, where it is known."""
    lives_s = [bubble.life_s for bubble in reading.bubbles]
    return FootageMeasures(
        flash_rate_hz=flash_rate_hz(reading),
        interval_s=quantiles(flash_intervals_s(reading)),
        life_s=quantiles(lives_s),
        radius_seen_m=quantiles([bubble.radius_max_m for bubble in reading.bubbles]),
        radius_from_life_m=quantiles(
            [radius_from_life_m(life_s, WATER_KG_PER_M3, WATER_OVERPRESSURE_PA) for life_s in lives_s]
        ),
        below_m=quantiles([bubble.below_m for bubble in reading.bubbles]),
        warnings=sampling_warnings(reading, rate_hz=rate_hz),
    )


def flash_rate_hz(reading: FilmReading, *, confidence: float = CONFIDENCE) -> Bounded:
    """Compute flashes a second of film, with Garwood's exact interval for a Poisson count.

    Holds for flashes that come independently of one another; counts what the film shows, and a flash while
    the shutter is closed is not shown [garwood1936].
    """
    count = len(reading.flashes)
    low, high = count_bounds(count, confidence=confidence)
    return Bounded(
        value=count / reading.duration_s, low=low / reading.duration_s, high=high / reading.duration_s
    )


def flash_intervals_s(reading: FilmReading) -> NDArray[np.float64]:
    """Compute the times between successive flashes, wherever they are; zero for two in one frame."""
    return np.diff([flash.time_s for flash in reading.flashes])


def in_pulses(intervals_s: NDArray[np.float64], *, rate_hz: float) -> NDArray[np.float64]:
    """Count the pulse periods in each interval, as a real number: the film's clock is not the laser's."""
    if not rate_hz > 0.0:
        raise OutOfRange(f"the pulse rate is {rate_hz:g} Hz, but a laser's is above zero. Give its setting.")
    return intervals_s * rate_hz


def deeper_fraction(reading: FilmReading, below_m: float, *, confidence: float = CONFIDENCE) -> Bounded:
    """Compute the share of bubbles deeper than ``below_m``, with Clopper and Pearson's exact interval.

    Raises `Missing` when the film shows no bubble [clopper1934].
    """
    count = len(reading.bubbles)
    if count == 0:
        raise Missing(f"{reading.film} shows no bubble, so no share of them is deep. Give a film that does.")
    deep = sum(bubble.below_m > below_m for bubble in reading.bubbles)
    return share_of(deep, count, confidence=confidence)


def quantiles(values: Sequence[float] | NDArray[np.float64]) -> tuple[float, ...]:
    """Compute the `QUANTILES` of values; none of nothing."""
    given = np.asarray(values, dtype=np.float64)
    return tuple(np.quantile(given, QUANTILES).tolist()) if given.size else ()


def sampling_warnings(reading: FilmReading, *, rate_hz: float | None = None) -> tuple[str, ...]:
    """Say in sentences what this film, at its frame rate and exposure, cannot show."""
    scale = reading.scale
    frame_us = 1e6 / scale.frame_hz
    said = []
    if rate_hz is not None and scale.frame_hz < rate_hz:
        said.append(
            f"Frames are {frame_us:.3g} us apart and pulses {1e6 / rate_hz:.3g} us: the film cannot show "
            "every pulse, and flashes of successive pulses may fall into one frame."
        )
    open_share = scale.exposure_s * scale.frame_hz
    if open_share < 0.95:
        said.append(
            f"The shutter is open {100 * open_share:.0f} % of the time: a flash much shorter than a frame "
            f"is seen with that chance, and the true rate may be {1 / open_share:.3g} times the one seen."
        )
    lives_s = [bubble.life_s for bubble in reading.bubbles]
    short = sum(life_s < 2.0 / scale.frame_hz for life_s in lives_s)
    if short:
        said.append(
            f"{short} of {len(lives_s)} bubbles lived under two frames ({2 * frame_us:.3g} us): their lives "
            "are wrong by up to a frame, their largest radii are lower bounds, and shorter ones were missed."
        )
    if reading.stopped is not None:
        said.append(f"Reading ended early: {reading.stopped}.")
    return tuple(said)
