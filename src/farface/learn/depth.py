"""Say how likely a depth is, however it was read: measured, felt, or by the pass that pierced a sheet.

A cell's depth per pass D is log-normal about the model's median d, of width

    sigma = sqrt(s_depth^2 + (3 s_cell)^2)

where s_depth is the scatter that fluence does not explain and s_cell the scatter of fluence from cell to
cell. Between the onset of removal and runaway, depth goes about with the third power of fluence: over
draws of the prior the model's own slope is 2.8 to 3.9 in the median of most settings. A fixed power
leaves out that the slope grows towards runaway and towards the first flashes.
"""

import math
from typing import Final

import numpy as np
from numpy.typing import NDArray

from farface.etch.unknowns import CELL_SCATTER, DEPTH_SCATTER
from farface.kernel import Malformed
from farface.learn.intervals import LOG_NORMAL, log_within
from farface.records import Pierced

# d ln(depth) / d ln(fluence), see above; a test holds it to the model.
DEPTH_POWER: Final = 3.0
# Depths below this count as this: no glass was removed.
LEAST_DEPTH_M: Final = 1e-12
# No bench reads finer than this. Common practice, no source; it also keeps a stated error of zero finite.
FINEST_SD_M: Final = 1e-7
# The convolution reaches this many standard deviations and takes this many steps.
REACH: Final = 8.0
STEPS: Final = 128


def depth_width(draws: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the log-normal width of depth from cell to cell, shape (draw,), for draws of the unknowns."""
    return np.asarray(np.hypot(draws[:, DEPTH_SCATTER], DEPTH_POWER * draws[:, CELL_SCATTER]))


def depth_per_pass_interval_m(pierced: Pierced) -> tuple[float, float]:
    """Return the interval [t / through_by, t / whole_after) in which the depth per pass lies.

    It starts at 0 for a sheet never pierced, and has no end for one that the first pass may have pierced:
    an integer count of passes is never an exact depth. Raises `Malformed` when the sheet was pierced no
    later than it was whole.
    """
    whole, through = pierced.whole_after, pierced.through_by
    if whole < 0 or (through is not None and through <= whole):
        raise Malformed(
            f"the sheet was whole after pass {whole} and through by pass {through}, which cannot be. "
            "Give the last pass after which it was whole and a later one by which it was through."
        )
    low_m = 0.0 if through is None else pierced.thickness_m / through
    high_m = math.inf if whole == 0 else pierced.thickness_m / whole
    return low_m, high_m


def log_reading(
    *,
    reading_m: NDArray[np.float64],
    sd_m: NDArray[np.float64],
    median_m: NDArray[np.float64],
    width: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Return the log density of readings in 1/m: the log-normal of depth convolved with a normal error.

    log of the integral over u = ln D of N(u; ln d, sigma) N(reading; e^u, sd), by the trapezoid rule
    where both factors live. Good to 1e-6 within four standard deviations; far out in the tails it only
    stays finite and falls. Shapes broadcast.
    """
    log_median = np.log(np.maximum(median_m, LEAST_DEPTH_M))
    sd_m = np.maximum(sd_m, FINEST_SD_M)
    low = np.maximum(log_median - REACH * width, np.log(np.maximum(reading_m - REACH * sd_m, LEAST_DEPTH_M)))
    high = np.minimum(log_median + REACH * width, np.log(np.maximum(reading_m + REACH * sd_m, LEAST_DEPTH_M)))
    shape = np.broadcast_shapes(low.shape, high.shape)
    # Where the two factors do not meet, low lies above high and the steps span the gap between them.
    u = low + (high - low) * np.linspace(0.0, 1.0, STEPS + 1).reshape(-1, *(1,) * len(shape))
    exponent = -0.5 * ((u - log_median) / width) ** 2 - 0.5 * ((reading_m - np.exp(u)) / sd_m) ** 2
    highest = exponent.max(axis=0)
    area = np.exp(exponent - highest).sum(axis=0) * np.maximum(np.abs(high - low), 1e-12) / STEPS
    return np.asarray(highest + np.log(area) - np.log(2.0 * np.pi * width * sd_m))


def log_at_least(
    *,
    bound_m: NDArray[np.float64],
    sd_m: NDArray[np.float64],
    median_m: NDArray[np.float64],
    width: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Return the log probability that the depth is at least a bound, itself blurred by its error.

    The bound's relative error is taken as a log-normal width beside that of the depth. Shapes broadcast.
    """
    from scipy.special import log_ndtr

    log_median = np.log(np.maximum(median_m, LEAST_DEPTH_M))
    bound_m = np.maximum(bound_m, LEAST_DEPTH_M)
    return np.asarray(log_ndtr((log_median - np.log(bound_m)) / np.hypot(width, sd_m / bound_m)))


def log_between(
    *,
    low_m: NDArray[np.float64],
    high_m: NDArray[np.float64],
    median_m: NDArray[np.float64],
    width: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Return the log probability that the depth lies in [low, high): interval censoring. Shapes broadcast.

    ``low_m`` may be 0 and ``high_m`` infinite.
    """
    log_median = np.log(np.maximum(median_m, LEAST_DEPTH_M))
    with np.errstate(divide="ignore"):
        a = (np.log(low_m) - log_median) / width
        b = (np.log(high_m) - log_median) / width
    return log_within(LOG_NORMAL, a, b)
