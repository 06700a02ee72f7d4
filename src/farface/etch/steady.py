"""Give the quiet steady state at a fluence, and the fluence beyond which none is quiet.

The runaway fluence is the highest on the branch of steady states (`farface.etch.branch`) that removes at
most ``RUNAWAY_REMOVAL_M`` a pulse; the quiet state at a lower one is the branch's first crossing. It starts
from the cubic between two rows and is finished by Newton's method, so that it does not depend on the rows.
"""

import math
from typing import Final

import numpy as np
from numba import njit
from numpy.typing import NDArray

from farface.etch.branch import BRANCH_SHAPE, solve_branch
from farface.etch.branch_cubic import LOG_F, LOG_M, LOG_R, log_between, log_r_crossing
from farface.etch.burst_slopes import AFTER, BY_DEPOSIT, REMOVED, VALUE, burst_slopes
from farface.etch.deposit import Deposit, passivated_with_slope
from farface.etch.steady_node import CLOSE, LONGEST_STEP, OPAQUE, STEPS, BurstRoom, miss, room_for_bursts

# Rounds in which passivation and removal settle on one another.
SKIN_ROUNDS: Final = 3


@njit(cache=True, nogil=True, error_model="numpy")
def quiet_on(
    fluence_j_per_m2: float,
    pulses: int,
    residue_k_m2_per_j: NDArray[np.float64],
    c: Deposit,
    room: BurstRoom,
    branch: NDArray[np.float64],
    count: int,
    top: int,
) -> tuple[bool, float, float]:
    """Return (exists, deposit, removal per pulse in m) of the quiet state at a fluence; see `quiet_state`."""
    log_f = math.log(fluence_j_per_m2)
    if log_f > branch[top, LOG_F]:
        return False, _deposit_beyond(log_f, branch[count - 1]), math.exp(branch[count - 1, LOG_R])
    if log_f <= branch[0, LOG_F]:
        return True, math.exp(branch[0, LOG_M]), 0.0
    upper = 1
    while branch[upper, LOG_F] < log_f:
        upper += 1
    left, right = branch[upper - 1], branch[upper]
    log_r = log_r_crossing(left, right, log_f)
    m, removal = math.exp(log_between(left, right, log_r, LOG_M)), math.exp(log_r)
    least, most = math.exp(left[LOG_R]), math.exp(right[LOG_R])
    for _ in range(STEPS):
        skin, skin_r = passivated_with_slope(removal, c)
        a, a_m, _, a_r, b, b_m, _, b_r = miss(
            removal, skin, skin_r, fluence_j_per_m2, m, pulses, residue_k_m2_per_j, c, room
        )
        det = a_m * b_r - a_r * b_m
        if b == -1.0 or not abs(det) > 0.0:
            break
        step_m, step_r = (a_r * b - a * b_r) / det, (a * b_m - a_m * b) / det
        far = max(abs(step_m), abs(step_r))
        cut = min(1.0, LONGEST_STEP / max(far, CLOSE))
        m = min(m * math.exp(cut * step_m), OPAQUE)
        removal = min(max(removal * math.exp(cut * step_r), least), most)
        if far < CLOSE:
            break
    return True, m, removal


@njit(cache=True, nogil=True, error_model="numpy")
def _deposit_beyond(log_f: float, end: NDArray[np.float64]) -> float:
    """Return the deposit that takes up as much at a fluence past the fold as the branch does at its end."""
    share = -math.expm1(-math.exp(end[LOG_M])) * math.exp(end[LOG_F] - log_f)
    return -math.log1p(-min(share, 0.9997))


@njit(cache=True, nogil=True, error_model="numpy")
def quiet_state(
    fluence_j_per_m2: float, pulses: int, residue_k_m2_per_j: NDArray[np.float64], c: Deposit
) -> tuple[bool, float, float]:
    """Solve for the quiet steady state; return (exists, deposit, removal per pulse in m).

    Without one, deposit and removal are those at which the branch is given up. A fluence that could not
    remove glass even from an opaque deposit, or next to none, counts as quiet without removal.
    """
    room, branch = room_for_bursts(pulses), np.empty(BRANCH_SHAPE)
    count, top = solve_branch(pulses, residue_k_m2_per_j, c, room, branch)
    return quiet_on(fluence_j_per_m2, pulses, residue_k_m2_per_j, c, room, branch, count, top)


@njit(cache=True, nogil=True, error_model="numpy")
def runaway_fluence_j_per_m2(pulses: int, residue_k_m2_per_j: NDArray[np.float64], c: Deposit) -> float:
    """Return the highest fluence with a steady state that removes at most ``RUNAWAY_REMOVAL_M`` a pulse."""
    branch = np.empty(BRANCH_SHAPE)
    _, top = solve_branch(pulses, residue_k_m2_per_j, c, room_for_bursts(pulses), branch)
    return math.exp(branch[top, LOG_F])


@njit(cache=True, nogil=True, error_model="numpy")
def map_slope(
    m: float, fluence_j_per_m2: float, pulses: int, residue_k_m2_per_j: NDArray[np.float64], c: Deposit
) -> float:
    """Return how much of a small disturbance of the deposit ``m`` a burst leaves: below 1 it dies out.

    Passivation follows at its own, slower pace and is held at what a burst from ``m`` settles at.
    """
    room, skin = room_for_bursts(pulses), 0.0
    for _ in range(SKIN_ROUNDS):
        burst_slopes(
            m, skin, fluence_j_per_m2, pulses, residue_k_m2_per_j, c, room.absorbed_rows, room.slopes
        )
        skin, _ = passivated_with_slope(room.slopes[REMOVED, VALUE] / pulses, c)
    burst_slopes(m, skin, fluence_j_per_m2, pulses, residue_k_m2_per_j, c, room.absorbed_rows, room.slopes)
    return float(room.slopes[AFTER, BY_DEPOSIT])
