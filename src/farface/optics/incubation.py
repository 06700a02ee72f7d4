"""Find how far the threshold falls with pulses at one place: the incubation exponent."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from farface.kernel import Malformed


@dataclass(frozen=True, slots=True, kw_only=True)
class Incubation:
    """Hold the exponent S with its standard error, and the threshold energy of a single pulse."""

    incubation_exponent: float
    exponent_sd: float
    single_j: float


def fit_incubation(*, pulses: NDArray[np.float64], thresholds_j: NDArray[np.float64]) -> Incubation:
    """Fit E_th(N) = E_th(1) N^(S - 1) to thresholds, shapes (reading,), as a line in logarithms [jee1988].

    S = 1 is no incubation; less means that pulses pave the way for later ones. Holds for one spot; raises
    `Malformed` for fewer than three different counts or values that are not positive.
    """
    alike = pulses.shape == thresholds_j.shape and np.unique(pulses).size >= 3
    if not alike or not (np.all(pulses >= 1.0) and np.all(thresholds_j > 0.0)):
        raise Malformed(
            f"there are {pulses.size} counts of pulses and {thresholds_j.size} thresholds, but the fit needs "
            "as many of each, at three different counts or more, all above 0. Measure more."
        )
    x, y = np.log(pulses), np.log(thresholds_j)
    around = x - x.mean()
    slope = float(around @ y / (around @ around))
    left = y - y.mean() - slope * around
    slope_sd = math.sqrt(float(left @ left) / max(1, x.size - 2) / float(around @ around))
    return Incubation(
        incubation_exponent=1.0 + slope, exponent_sd=slope_sd, single_j=math.exp(y.mean() - slope * x.mean())
    )
