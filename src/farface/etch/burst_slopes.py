"""Run a burst of pulses on the deposit together with its exact derivatives, for Newton's method.

The same map as `farface.etch.deposit.burst`, differentiated forward, pulse by pulse: beside every value run
its slopes by the deposit m before the burst, the fluence F and the passivation s.
"""

import math
from typing import Final

import numpy as np
from numba import njit
from numpy.typing import NDArray

from farface.etch.deposit import (
    LOGARITHMIC,
    RISE_GAIN_K,
    RISE_REMOVAL_K,
    Deposit,
    threshold_left_j_per_m2,
)

# What stands in a row of slopes: the value, then its derivatives.
VALUE, BY_DEPOSIT, BY_FLUENCE, BY_SKIN = range(4)
WAYS: Final = 4
# Rows of the result: the deposit after the burst, and the removal in m.
AFTER, REMOVED = range(2)


@njit(cache=True, nogil=True, error_model="numpy")
def burst_slopes(
    m: float,
    s: float,
    fluence_j_per_m2: float,
    pulses: int,
    residue_k_m2_per_j: NDArray[np.float64],
    c: Deposit,
    absorbed_rows: NDArray[np.float64],
    slopes: NDArray[np.float64],
) -> None:
    """Fill ``slopes``, shape (2, ``WAYS``): deposit after the burst and removal, each with its slopes.

    ``absorbed_rows``, shape (at least ``pulses``, ``WAYS``), is room to work in. About 40 ns a pulse.
    """
    m0, m1, m2, m3 = m + c.seed, 1.0, 0.0, 0.0
    h0 = h1 = h2 = h3 = 0.0
    for n in range(pulses):
        rise0 = rise1 = rise2 = rise3 = 0.0
        for j in range(n):
            left = residue_k_m2_per_j[n - 1 - j]
            rise0 += left * absorbed_rows[j, 0]
            rise1 += left * absorbed_rows[j, 1]
            rise2 += left * absorbed_rows[j, 2]
            rise3 += left * absorbed_rows[j, 3]
        clear = math.exp(-m0)
        af0, steep = fluence_j_per_m2 * (1.0 - clear), fluence_j_per_m2 * clear
        af1, af2, af3 = steep * m1, steep * m2 + (1.0 - clear), steep * m3
        absorbed_rows[n, 0], absorbed_rows[n, 1], absorbed_rows[n, 2], absorbed_rows[n, 3] = (
            af0,
            af1,
            af2,
            af3,
        )
        warmer = c.growth_m4_per_j2 * (1.0 + rise0 / RISE_GAIN_K)
        by_af = 2.0 * (1.0 - s) * warmer * af0
        by_rise = c.growth_m4_per_j2 * (1.0 - s) / RISE_GAIN_K * af0**2
        m0 += (1.0 - s) * warmer * af0**2
        m1 += by_af * af1 + by_rise * rise1
        m2 += by_af * af2 + by_rise * rise2
        m3 += by_af * af3 + by_rise * rise3 - warmer * af0**2
        dh, dh_by_af, dh_by_rise = _removal_slopes(af0, rise0, c)
        if dh == 0.0:
            continue
        dh1 = dh_by_af * af1 + dh_by_rise * rise1
        dh2 = dh_by_af * af2 + dh_by_rise * rise2
        dh3 = dh_by_af * af3 + dh_by_rise * rise3
        h0, h1, h2, h3 = h0 + dh, h1 + dh1, h2 + dh2, h3 + dh3
        kept = math.exp(-dh / c.wear_m)
        m0 *= kept
        m1 = kept * m1 - m0 / c.wear_m * dh1
        m2 = kept * m2 - m0 / c.wear_m * dh2
        m3 = kept * m3 - m0 / c.wear_m * dh3
    slopes[0, 0], slopes[0, 1], slopes[0, 2], slopes[0, 3] = m0, m1, m2, m3
    slopes[1, 0], slopes[1, 1], slopes[1, 2], slopes[1, 3] = h0, h1, h2, h3


@njit(cache=True, nogil=True, error_model="numpy")
def _removal_slopes(absorbed_j_per_m2: float, rise_k: float, c: Deposit) -> tuple[float, float, float]:
    """Return what one pulse removes, and its derivatives by the fluence absorbed and by the rise."""
    threshold = threshold_left_j_per_m2(rise_k, c)
    if absorbed_j_per_m2 <= threshold:
        return 0.0, 0.0, 0.0
    k = c.removal_m3_per_j
    falling = c.threshold_j_per_m2 / RISE_REMOVAL_K if rise_k < RISE_REMOVAL_K else 0.0
    if c.law == LOGARITHMIC:
        per_log = k * c.threshold_j_per_m2
        return (
            per_log * math.log(absorbed_j_per_m2 / threshold),
            per_log / absorbed_j_per_m2,
            per_log * falling / threshold,
        )
    return k * (absorbed_j_per_m2 - threshold), k, k * falling
