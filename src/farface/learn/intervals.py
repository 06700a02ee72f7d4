"""Say how likely it is that something lies between two readings, and fit a law to many such readings.

Readings are intervals of a positive quantity x: [low, high), with 0 or infinity where an end is missing, and
both ends alike where x was read exactly. A law is one of z = (ln x - mu) / sigma: normal makes x log-normal,
the smallest extreme value makes it Weibull (and, with sigma = 1, exponential).
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from farface.kernel import Malformed, NotConverged

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Law:
    """Hold a law of z by the logarithms of its distribution, of its complement, and of its density."""

    name: str
    log_below: Callable[[Array], Array]
    log_above: Callable[[Array], Array]
    log_density: Callable[[Array], Array]


def _normal_below(z: Array) -> Array:
    from scipy.special import log_ndtr

    return np.asarray(log_ndtr(z), dtype=np.float64)


def _weibull_below(z: Array) -> Array:
    with np.errstate(divide="ignore"):
        return np.asarray(np.log(-np.expm1(-np.exp(z))))


LOG_NORMAL: Final = Law(
    name="log-normal",
    log_below=_normal_below,
    log_above=lambda z: _normal_below(-z),
    log_density=lambda z: np.asarray(-0.5 * z**2 - 0.5 * np.log(2.0 * np.pi)),
)
WEIBULL: Final = Law(
    name="Weibull",
    log_below=_weibull_below,
    log_above=lambda z: np.asarray(-np.exp(z)),
    log_density=lambda z: np.asarray(z - np.exp(z)),
)
LAWS: Final = {law.name: law for law in (LOG_NORMAL, WEIBULL)}


def log_within(law: Law, low: Array, high: Array) -> Array:
    """Return the log probability that z lies in [low, high), which may be infinite; shapes broadcast.

    The difference is taken in the tail where both ends are small.
    """
    upper = low > 0.0
    nearer = np.where(upper, law.log_above(low), law.log_below(high))
    farther = np.where(upper, law.log_above(high), law.log_below(low))
    return np.asarray(nearer + np.log1p(-np.exp(np.minimum(farther - nearer, -1e-12))))


def log_likelihood(law: Law, intervals: Array, mu: Array | float, sigma: float) -> float:
    """Return the log likelihood of readings, shape (reading, 2), in the unit that they are in.

    ``mu`` may differ from reading to reading. An exact reading counts by its density in x.
    """
    low, high = intervals.T
    exact = low == high
    with np.errstate(divide="ignore"):
        a, b = ((np.log(end) - mu) / sigma for end in (low, high))
    within = log_within(law, np.where(exact, -1.0, a), np.where(exact, 1.0, b))
    density = law.log_density(np.where(exact, a, 0.0)) - np.log(sigma * np.where(exact, low, 1.0))
    return float(np.where(exact, density, within).sum())


@dataclass(frozen=True, slots=True, kw_only=True)
class IntervalFit:
    """Hold the likeliest law: the logarithm mu of its place, its width sigma, its log likelihood."""

    log_place: float
    log_width: float
    log_likelihood: float


def fit_intervals(intervals: Array, law: Law = LOG_NORMAL, *, sigma: float | None = None) -> IntervalFit:
    """Find the likeliest mu and sigma of readings, shape (reading, 2); a given ``sigma`` is kept.

    Raises `Malformed` for an interval that ends before it begins, or that says nothing; `NotConverged` when
    all readings lie on one side, so that no law is likeliest.
    """
    from scipy.optimize import minimize

    low, high = intervals.T
    if not np.all((low >= 0.0) & (high >= low) & (high > 0.0)) or np.any((low == 0.0) & np.isinf(high)):
        raise Malformed("an interval ends before it begins, or runs from zero to infinity. Correct it.")
    if not (np.isfinite(high).any() and (low > 0.0).any()):
        raise NotConverged("all readings lie on one side, so that none is likeliest. Add others.")
    ends = np.where(np.isinf(high), low, high)
    middle = np.log(np.where(low > 0.0, np.sqrt(np.maximum(low, 1e-300) * ends), ends))
    start = np.array([middle.mean(), np.log(max(middle.std(), 0.1))])

    def unlikely(values: Array) -> float:
        return -log_likelihood(law, intervals, values[0], sigma or float(np.exp(values[1])))

    free = start if sigma is None else start[:1]
    found = minimize(
        unlikely, free, method="Nelder-Mead", options={"xatol": 1e-9, "fatol": 1e-11, "maxiter": 4000}
    )
    if not found.success:
        raise NotConverged("no likeliest law was found. Look for readings that contradict one another.")
    width = sigma or float(np.exp(found.x[1]))
    return IntervalFit(log_place=float(found.x[0]), log_width=width, log_likelihood=-float(found.fun))
