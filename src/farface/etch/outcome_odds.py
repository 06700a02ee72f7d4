"""Share out the odds of the six outcomes of a cell."""

import math
from typing import Final

import numpy as np
from numba import njit
from numpy.typing import NDArray

from farface.etch.column import normal_cdf
from farface.etch.ignition import Ignition
from farface.records import SEEN

# A cell shallower than this looks frosted and has no depth that a bench can read. Common practice, no source.
FROST_DEPTH_M: Final = 1e-6
FROST_WIDTH: Final = 0.4
# A column longer than this many cavity radii bursts below the face more often than on it. Assumed.
BURST_RATIO: Final = 1.0
BURST_WIDTH: Final = 0.25
NOTHING, FROSTED, STEADY, BURST_BELOW, RUNAWAY, BROKEN = range(len(SEEN))


@njit(cache=True, nogil=True, error_model="numpy")
def share_odds(
    odds: NDArray[np.float64],
    touched: float,
    breaking: float,
    running: float,
    depth_m: float,
    lit: Ignition,
) -> None:
    """Share the odds out in the order in which one outcome hides the next."""
    ratio = max(lit.column_m, 1e-12) / max(BURST_RATIO * lit.radius_m, 1e-12)
    bursting = normal_cdf(math.log(ratio) / BURST_WIDTH)
    frosting = normal_cdf(math.log(FROST_DEPTH_M / max(depth_m, 1e-15)) / FROST_WIDTH)
    left = touched
    odds[NOTHING] = 1.0 - touched
    odds[BROKEN] = left * breaking
    left -= odds[BROKEN]
    odds[RUNAWAY] = left * running
    left -= odds[RUNAWAY]
    odds[BURST_BELOW] = left * bursting
    left -= odds[BURST_BELOW]
    odds[FROSTED] = left * frosting
    odds[STEADY] = left - odds[FROSTED]
