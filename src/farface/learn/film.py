"""Say how likely a film is: how many cavities opened, how long they lived, how deep they lay, what grew.

Every cavity is an ignition, and shows as a bubble. A film without bubbles, taken without a lamp, counts
its flashes instead. Where there are bubbles, flashes are left out: whether one marks an ignition or a
later pulse that met the deposit is not known from a film. What they do tell is whether they grow from one to
the next at their place, which is how a runaway begins.
"""

import math
from dataclasses import dataclass
from statistics import median
from typing import Final

import numpy as np
from numpy.typing import NDArray

from farface.etch.bench import EtchBench
from farface.etch.forecast import Forecast
from farface.etch.outcome_odds import RUNAWAY
from farface.learn.regime import count_growing, log_growing
from farface.records import FilmReading, Setting

# What the model leaves unexplained of each, as log-normal widths. Assumed: events beyond the picture's
# edge or hidden behind one another; lives lengthened near the wall; bubbles beside the column's end.
COUNT_SCATTER: Final = 0.25
LIFE_SCATTER: Final = 0.20
BURST_SCATTER: Final = 0.30
# Scatter of one event about the median of its kind, which a film averages out. Assumed.
EVENT_SCATTER: Final = 0.40
# Standard error of a median over that of a mean, for a normal.
MEDIAN_COST: Final = math.sqrt(math.pi / 2.0)
# The line of the far face is placed no better than this.
FACE_PX: Final = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Film:
    """Join a film's reading with the plate it shows and the setting that ran, all through the film."""

    plate: str
    setting: Setting
    reading: FilmReading


@dataclass(frozen=True, slots=True, kw_only=True)
class Watched:
    """Hold what a film says: pulses sent, ignitions counted, and two medians with their log-normal widths.

    A median is None when the film shows no such event. ``lasting`` says whether what was counted lasts as
    long as the cavity (bubbles) or no time at all (flashes). ``growing`` is how many flashes of how many were
    wider than the last one at their place.
    """

    sent: float
    counted: int
    lasting: bool
    frame_hz: float
    exposure_s: float
    life_s: float | None
    life_sd_log: float
    burst_m: float | None
    burst_sd_log: float
    growing: tuple[int, int]


def point_s(bench: EtchBench, setting: Setting) -> float:
    """Return the time from one point to the next: its pulses, the jump and the pause."""
    return setting.pulses_per_point / setting.rate_hz + bench.settle_s + setting.pitch_m / bench.jump_m_per_s


def watch(film: Film, bench: EtchBench) -> Watched:
    """Count and average a film; pulses sent are those of hatching without a stop."""
    scale, reading, setting = film.reading.scale, film.reading, film.setting
    events = reading.bubbles or reading.flashes
    lives = [bubble.life_s for bubble in reading.bubbles if bubble.life_s > 0.0]
    deep = [event.below_m for event in events]
    life_s = median(lives) if lives else None
    burst_m = max(median(deep), 0.5 * FACE_PX * scale.pixel_m) if deep else None
    return Watched(
        sent=reading.duration_s / point_s(bench, setting) * setting.pulses_per_point,
        counted=len(events),
        lasting=bool(reading.bubbles) or not reading.flashes,
        frame_hz=scale.frame_hz,
        exposure_s=scale.exposure_s,
        life_s=life_s,
        life_sd_log=_width(LIFE_SCATTER, 0.5 / scale.frame_hz, life_s, len(lives)),
        burst_m=burst_m,
        burst_sd_log=_width(BURST_SCATTER, FACE_PX * scale.pixel_m, burst_m, len(deep)),
        growing=count_growing(reading),
    )


def _width(scatter: float, error: float, value: float | None, events: int) -> float:
    """Add up the model's scatter, an error common to all events, and the scatter left in their median."""
    if value is None:
        return scatter
    return math.hypot(scatter, error / value, MEDIAN_COST * EVENT_SCATTER / math.sqrt(events))


def log_film(watched: Watched, forecast: Forecast, at: int) -> NDArray[np.float64]:
    """Return the log probability of what a film says, shape (draw,), for the setting in column ``at``.

    The count is negative binomial, with variance mean + (COUNT_SCATTER mean)^2, about the ignitions among
    the pulses sent times the share that an open shutter catches: (exposure + life) x frame rate, at most
    1, with no life for flashes. The medians of life and depth are log-normal. Whether flashes grow speaks for
    or against the draw's odds of a runaway, by `log_growing`.
    """
    from scipy.special import gammaln, xlogy

    life_s = forecast.quantity("bubble_life_s")[:, at]
    open_s = watched.exposure_s + (life_s if watched.lasting else 0.0)
    mean = watched.sent / forecast.quantity("pulses_between_flashes")[:, at]
    mean = np.maximum(mean * np.minimum(open_s * watched.frame_hz, 1.0), 1e-12)
    size, n = 1.0 / COUNT_SCATTER**2, watched.counted
    total = np.asarray(xlogy(n, mean / (mean + size)) - size * np.log1p(mean / size))
    total += gammaln(n + size) - gammaln(size) - gammaln(n + 1.0)
    if watched.life_s is not None:
        total += _log_normal(watched.life_s, life_s, watched.life_sd_log)
    if watched.burst_m is not None:
        total += _log_normal(watched.burst_m, forecast.quantity("column_m")[:, at], watched.burst_sd_log)
    return np.asarray(total + log_growing(watched.growing, forecast.odds[:, at, RUNAWAY]))


def _log_normal(value: float, median_of_draws: NDArray[np.float64], sd_log: float) -> NDArray[np.float64]:
    """Return the log density of ln(value) about the medians of the draws."""
    z = (math.log(value) - np.log(np.maximum(median_of_draws, 1e-12))) / sd_log
    return np.asarray(-0.5 * z**2 - math.log(sd_log * math.sqrt(2.0 * math.pi)))
