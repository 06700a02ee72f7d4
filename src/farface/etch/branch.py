"""Solve for all steady states of a run of pulses at once: one curve, from little removal to much.

Along the branch fluence rises with removal to a fold, where a disturbance of the steady state no longer dies
out; beyond it the state would run away. States are solved at ``NODES`` removals and at folds, once for all
fluences. Where a pulse passes its threshold the branch has a kink: a fold there is found within 1e-2 of F,
elsewhere within 2e-5.
"""

import math
from typing import Final

import numpy as np
from numba import njit
from numpy.typing import NDArray

from farface.etch.branch_cubic import (
    LOG_F,
    LOG_M,
    LOG_R,
    ROW,
    SLOPE_F,
    SLOPE_M,
    log_between,
    log_r_level,
    may_fold,
)
from farface.etch.deposit import Deposit
from farface.etch.steady_node import BurstRoom, mean_field, solve_node

# Removal per pulse above which the model says 'runaway': an order above the quiet branch's rates and an
# order below those past the fold. An assumption of the model, not a measurement.
RUNAWAY_REMOVAL_M: Final = 1e-6
# Less than an atom's width a pulse counts as no removal.
LEAST_REMOVAL_M: Final = 1e-10
NODES: Final = 11
LOG_REMOVAL: Final = np.linspace(math.log(LEAST_REMOVAL_M), math.log(RUNAWAY_REMOVAL_M), NODES)
# Nodes are solved outwards from this one.
MIDDLE: Final = NODES // 2
# So many folds are looked for, from the side of much removal.
FOLDS: Final = 3
BRANCH_SHAPE: Final = (NODES + FOLDS, ROW)
# Smaller steps along the branch, tried where a whole one loses it.
FOLLOWED: Final = 20
# The fold is found when F changes along the branch by less than this power of r, in at most so many rounds.
LEVEL: Final = 1e-3
FOLD_ROUNDS: Final = 5


@njit(cache=True, nogil=True, error_model="numpy")
def solve_branch(
    pulses: int,
    residue_k_m2_per_j: NDArray[np.float64],
    c: Deposit,
    room: BurstRoom,
    branch: NDArray[np.float64],
) -> tuple[int, int]:
    """Fill ``branch``, shape ``BRANCH_SHAPE``; return how many rows are filled, and which is highest in F.

    Rows go from little removal to much. The branch ends where Newton's method does not follow it: far past
    the fold, or where the deposit is opaque. About 40 burst slopes.
    """
    middle = MIDDLE
    end = _climb(1, middle, pulses, residue_k_m2_per_j, c, room, branch)
    while end == middle and middle > 0:
        middle -= 1
        end = _climb(1, middle, pulses, residue_k_m2_per_j, c, room, branch)
    start = _climb(-1, middle - 1, pulses, residue_k_m2_per_j, c, room, branch) + 1
    count = end - start
    if count == 0:
        branch[0] = 0.0
        branch[0, LOG_R] = LOG_REMOVAL[0]
        branch[0, LOG_F], branch[0, LOG_M] = mean_field(LEAST_REMOVAL_M, pulses, residue_k_m2_per_j, c)
        return 1, 0
    for i in range(count if start > 0 else 0):
        branch[i] = branch[start + i]
    for left in range(count - 2, -1, -1):
        if count < branch.shape[0] and may_fold(branch[left], branch[left + 1]):
            count = _insert_fold(pulses, residue_k_m2_per_j, c, room, branch, count, left)
    return count, int(np.argmax(branch[:count, LOG_F]))


@njit(cache=True, nogil=True, error_model="numpy")
def _climb(
    way: int,
    first: int,
    pulses: int,
    residue: NDArray[np.float64],
    c: Deposit,
    room: BurstRoom,
    branch: NDArray[np.float64],
) -> int:
    """Solve nodes one way, from ``first`` on, each guess as far off the mean field as the last.

    Returns the node at which it ended.
    Where that fails, the branch is followed in smaller steps along its slope, as far as it goes.
    """
    off_f = off_m = drift_f = drift_m = 0.0
    node = first
    while 0 <= node < NODES:
        log_r, row, last = LOG_REMOVAL[node], branch[node], branch[node - way]
        guess_f, guess_m = mean_field(math.exp(log_r), pulses, residue, c)
        near_f, near_m = guess_f + off_f + drift_f, guess_m + off_m + drift_m
        if not solve_node(log_r, near_f, near_m, pulses, residue, c, room, row):
            if node == first or way == -1:
                return node
            row[:] = last
            _follow(log_r, pulses, residue, c, room, row)
            if row[LOG_R] < log_r:
                return node + 1 if row[LOG_R] > last[LOG_R] else node
        if node != first:
            drift_f, drift_m = row[LOG_F] - guess_f - off_f, row[LOG_M] - guess_m - off_m
        off_f, off_m = row[LOG_F] - guess_f, row[LOG_M] - guess_m
        node += way
    return node


@njit(cache=True, nogil=True, error_model="numpy")
def _follow(
    log_r: float,
    pulses: int,
    residue: NDArray[np.float64],
    c: Deposit,
    room: BurstRoom,
    row: NDArray[np.float64],
) -> None:
    """Move a row along the branch towards a removal, halving the step where Newton's method loses it."""
    tried, step = np.empty(ROW), 0.5 * (log_r - row[LOG_R])
    for _ in range(FOLLOWED):
        guess_f, guess_m = row[LOG_F] + step * row[SLOPE_F], row[LOG_M] + step * row[SLOPE_M]
        if solve_node(row[LOG_R] + step, guess_f, guess_m, pulses, residue, c, room, tried):
            row[:] = tried
            step = min(1.5 * step, log_r - row[LOG_R])
            if step <= 0.0:
                break
        else:
            step *= 0.5


@njit(cache=True, nogil=True, error_model="numpy")
def _insert_fold(
    pulses: int,
    residue: NDArray[np.float64],
    c: Deposit,
    room: BurstRoom,
    branch: NDArray[np.float64],
    count: int,
    before: int,
) -> int:
    """Find where F is highest between a rising row and the falling next; insert it; return the new count."""
    left, right, fold = branch[before].copy(), branch[before + 1].copy(), np.empty(ROW)
    for _ in range(FOLD_ROUNDS):
        log_r = log_r_level(left, right)
        guess_f, guess_m = log_between(left, right, log_r, LOG_F), log_between(left, right, log_r, LOG_M)
        if not solve_node(log_r, guess_f, guess_m, pulses, residue, c, room, fold):
            return count
        if abs(fold[SLOPE_F]) < LEVEL:
            break
        if fold[SLOPE_F] > 0.0:
            left[:] = fold
        else:
            right[:] = fold
    if fold[LOG_F] <= max(branch[before, LOG_F], branch[before + 1, LOG_F]):
        return count
    for i in range(count, before + 1, -1):
        branch[i] = branch[i - 1]
    branch[before + 1] = fold
    return count + 1
