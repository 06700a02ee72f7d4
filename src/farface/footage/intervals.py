"""Bound counts and shares by their exact intervals."""

from dataclasses import dataclass
from typing import Final

CONFIDENCE: Final = 0.95


@dataclass(frozen=True, slots=True, kw_only=True)
class Bounded:
    """Hold a value with the interval that holds the true one at the stated confidence; unit as asked."""

    value: float
    low: float
    high: float


def count_bounds(count: int, *, confidence: float = CONFIDENCE) -> tuple[float, float]:
    """Compute Garwood's exact interval of the mean of a Poisson count.

    From the (1 - c)/2 quantile of a gamma distribution of shape n to the (1 + c)/2 quantile of shape n + 1
    [garwood1936].
    """
    from scipy.special import gammaincinv

    tail = (1.0 - confidence) / 2.0
    low = float(gammaincinv(count, tail)) if count else 0.0
    return low, float(gammaincinv(count + 1, 1.0 - tail))


def share_of(found: int, tried: int, *, confidence: float = CONFIDENCE) -> Bounded:
    """Compute the share found of those tried, one or more, with Clopper and Pearson's exact interval.

    [clopper1934]
    """
    from scipy.special import betaincinv

    tail = (1.0 - confidence) / 2.0
    low = float(betaincinv(found, tried - found + 1, tail)) if found else 0.0
    high = float(betaincinv(found + 1, tried - found, 1.0 - tail)) if found < tried else 1.0
    return Bounded(value=found / tried, low=low, high=high)
