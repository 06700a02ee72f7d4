"""Solve for one steady state of the deposit map by Newton's method, with exact derivatives.

A state is steady where a burst leaves the deposit as it met it. Given the removal per pulse r, and with it
the passivation s(r), one deposit m and one fluence F remain,

    G(m, s(r), F) = m,    R(m, s(r), F) = N r

with G the deposit after a burst of N pulses and R its removal.
"""

import math
from typing import Final, NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

from farface.etch.branch_cubic import LOG_F, LOG_M, LOG_R, SLOPE_F, SLOPE_M
from farface.etch.burst_slopes import (
    AFTER,
    BY_DEPOSIT,
    BY_FLUENCE,
    BY_SKIN,
    REMOVED,
    VALUE,
    WAYS,
    burst_slopes,
)
from farface.etch.deposit import RISE_GAIN_K, RISE_REMOVAL_K, Deposit, passivated_with_slope

# Past this optical depth more deposit absorbs no more light.
OPAQUE: Final = 8.0
# Newton's method ends with a step below this, so that the next would be about its square.
CLOSE: Final = 1e-3
STEPS: Final = 25
# No step goes further than this in a logarithm; a fluence that removes nothing is raised by LIFT.
LONGEST_STEP: Final = 1.0
LIFT: Final = 1.1
# A steady state is given up where a burst turns a small surplus of deposit into a greater lack, and so on.
FLIP: Final = -2.0


class BurstRoom(NamedTuple):
    """Hold room that the solver works in, so that nothing is allocated in a hot loop."""

    absorbed_rows: NDArray[np.float64]
    slopes: NDArray[np.float64]


@njit(cache=True, nogil=True, error_model="numpy")
def room_for_bursts(pulses: int) -> BurstRoom:
    """Return room for bursts of up to so many pulses."""
    return BurstRoom(np.empty((pulses, WAYS)), np.empty((2, WAYS)))


class Miss(NamedTuple):
    """Hold how far a state is from steady in deposit (a) and removal (b), with slopes by ln m, ln F, ln r."""

    deposit_miss: float
    deposit_by_m: float
    deposit_by_f: float
    deposit_by_r: float
    removal_miss: float
    removal_by_m: float
    removal_by_f: float
    removal_by_r: float


@njit(cache=True, nogil=True, error_model="numpy")
def miss(
    removal_m: float,
    passivation: float,
    passivation_by_r: float,
    fluence_j_per_m2: float,
    m: float,
    pulses: int,
    residue_k_m2_per_j: NDArray[np.float64],
    c: Deposit,
    room: BurstRoom,
) -> Miss:
    """Compare a burst with steadiness: a = ln(G / m), b = R / (N r) - 1; b is -1 without removal."""
    burst_slopes(
        m, passivation, fluence_j_per_m2, pulses, residue_k_m2_per_j, c, room.absorbed_rows, room.slopes
    )
    after, removed, per_total = room.slopes[AFTER], room.slopes[REMOVED], 1.0 / (removal_m * pulses)
    b, b_m = removed[VALUE] * per_total - 1.0, removed[BY_DEPOSIT] * m * per_total
    b_f = removed[BY_FLUENCE] * fluence_j_per_m2 * per_total
    b_r = removed[BY_SKIN] * passivation_by_r * per_total - 1.0
    if m >= OPAQUE and after[VALUE] >= m:
        return Miss(0.0, 1.0, 0.0, 0.0, b, b_m, b_f, b_r)
    a, per_after = math.log(after[VALUE] / m), 1.0 / after[VALUE]
    a_m, a_f = after[BY_DEPOSIT] * m * per_after - 1.0, after[BY_FLUENCE] * fluence_j_per_m2 * per_after
    return Miss(a, a_m, a_f, after[BY_SKIN] * passivation_by_r * per_after, b, b_m, b_f, b_r)


@njit(cache=True, nogil=True, error_model="numpy")
def solve_node(
    log_r: float,
    guess_log_f: float,
    guess_log_m: float,
    pulses: int,
    residue_k_m2_per_j: NDArray[np.float64],
    c: Deposit,
    room: BurstRoom,
    row: NDArray[np.float64],
) -> bool:
    """Solve for fluence and deposit at one removal; fill its row of the branch, or return False."""
    removal, fluence, m = math.exp(log_r), math.exp(guess_log_f), min(math.exp(guess_log_m), OPAQUE)
    skin, skin_r = passivated_with_slope(removal, c)
    for _ in range(STEPS):
        a, a_m, a_f, a_r, b, b_m, b_f, b_r = miss(
            removal, skin, skin_r, fluence, m, pulses, residue_k_m2_per_j, c, room
        )
        if b == -1.0:
            fluence *= LIFT
            continue
        det = a_m * b_f - a_f * b_m
        if not abs(det) > 0.0:
            return False
        step_m, step_f = (a_f * b - a * b_f) / det, (a * b_m - a_m * b) / det
        far = max(abs(step_m), abs(step_f))
        cut = min(1.0, LONGEST_STEP / max(far, CLOSE))
        m, fluence = min(m * math.exp(cut * step_m), OPAQUE), fluence * math.exp(cut * step_f)
        if far < CLOSE:
            if a_m < FLIP:
                return False
            row[LOG_R], row[LOG_F], row[LOG_M] = log_r, math.log(fluence), math.log(m)
            row[SLOPE_F], row[SLOPE_M] = (a_r * b_m - a_m * b_r) / det, (a_f * b_r - a_r * b_f) / det
            return True
    return False


@njit(cache=True, nogil=True, error_model="numpy")
def mean_field(
    removal_m: float, pulses: int, residue_k_m2_per_j: NDArray[np.float64], c: Deposit
) -> tuple[float, float]:
    """Guess ln F and ln m at a removal, as if every pulse of the burst met the same; exact for one pulse.

    The fluence absorbed follows from the removal, the deposit from growth, seed and wear.
    """
    warmth = 0.0
    for lag in range(pulses - 1):
        warmth += residue_k_m2_per_j[lag] * (pulses - 1 - lag) / pulses
    af = (c.threshold_j_per_m2 + removal_m / c.removal_m3_per_j) / (
        1.0 + c.threshold_j_per_m2 * warmth / RISE_REMOVAL_K
    )
    passivation, _ = passivated_with_slope(removal_m, c)
    growth = c.growth_m4_per_j2 * (1.0 - passivation) * (1.0 + af * warmth / RISE_GAIN_K) * af**2
    worn = -math.expm1(-removal_m / c.wear_m)
    m = min((c.seed / pulses + growth * (1.0 - worn)) / worn, OPAQUE)
    return math.log(af / -math.expm1(-m)), math.log(m)
