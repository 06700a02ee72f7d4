"""Say what pulses inside cavities do to the glass, and keep what settings of one draw share of it."""

import math
from typing import Final, NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

from farface.etch.bench import BenchNumbers
from farface.etch.branch import BRANCH_SHAPE, solve_branch
from farface.etch.branch_cubic import LOG_F
from farface.etch.deposit import Deposit, residual_heat_k_m2_per_j
from farface.etch.steady import quiet_on
from farface.etch.steady_node import BurstRoom, room_for_bursts
from farface.etch.unknowns import GROWTH, PASSIVATION, REMOVAL_SHARE, RESIDUE, SEED, THRESHOLD, WEAR

# Energy to heat and take away a cubic metre of glass [zimmer2007]; the removal share absorbs its error.
REMOVAL_ENERGY_J_PER_M3: Final = 1e10
# Runaway margins are looked for up to this many inside pulses per flash.
MOST_PULSES: Final = 64


class Kept(NamedTuple):
    """Keep what settings of one draw, rate and spot share: left-over heat, and every run's steady states.

    ``counts`` and ``tops``, shape (runs,), are what `farface.etch.branch.solve_branch` gave, a count of 0
    where a branch is not solved yet.
    """

    residue_k_m2_per_j: NDArray[np.float64]
    branches: NDArray[np.float64]
    counts: NDArray[np.int64]
    tops: NDArray[np.int64]
    room: BurstRoom


@njit(cache=True, nogil=True, error_model="numpy")
def room_to_keep() -> Kept:
    """Return room for one draw at a time; `forget` fills it anew."""
    runs = MOST_PULSES + 1
    return Kept(
        np.empty(runs), np.empty((runs, *BRANCH_SHAPE)), np.zeros(runs, np.int64), np.zeros(runs, np.int64),
        room_for_bursts(runs),
    )  # fmt: skip


@njit(cache=True, nogil=True, error_model="numpy")
def forget(kept: Kept, rate_hz: float, spot_m: float, draw: NDArray[np.float64], bench: BenchNumbers) -> None:
    """Start anew for another draw, rate or spot."""
    kept.counts[:] = 0
    kept.residue_k_m2_per_j[:] = residual_heat_k_m2_per_j(
        kept.counts.size, 1.0 / rate_hz, draw[RESIDUE], bench.glass_effusivity_j_per_m2_k_sqrt_s, spot_m,
        bench.glass_diffusivity_m2_per_s,
    )  # fmt: skip


@njit(cache=True, nogil=True, error_model="numpy")
def etched(
    fluence_j_per_m2: float, run_length: float, deposit: Deposit, kept: Kept
) -> tuple[float, float, float]:
    """Return runaway fluence, removal per pulse and absorptance for a run of pulses.

    A mean run is no whole number: the runs just below and above are solved and weighed.
    """
    shorter = min(max(int(run_length), 1), MOST_PULSES - 1)
    weight = min(max(run_length - shorter, 0.0), 1.0)
    log_runaway = removal = absorptance = 0.0
    for pulses, share in ((shorter, 1.0 - weight), (shorter + 1, weight)):
        if share == 0.0:
            continue
        branch = kept.branches[pulses]
        if kept.counts[pulses] == 0:
            kept.counts[pulses], kept.tops[pulses] = solve_branch(
                pulses, kept.residue_k_m2_per_j, deposit, kept.room, branch
            )
        count, top = kept.counts[pulses], kept.tops[pulses]
        _, m, removal_one = quiet_on(
            fluence_j_per_m2, pulses, kept.residue_k_m2_per_j, deposit, kept.room, branch, count, top
        )
        log_runaway += share * branch[top, LOG_F]
        removal += share * removal_one
        absorptance += share * (1.0 - math.exp(-m))
    return math.exp(log_runaway), removal, absorptance


@njit(cache=True, nogil=True, error_model="numpy")
def deposit_constants(draw: NDArray[np.float64], bench: BenchNumbers) -> Deposit:
    """Turn one draw into the constants of the deposit map; g = k / (F_c delta)."""
    k = draw[REMOVAL_SHARE] / REMOVAL_ENERGY_J_PER_M3
    return Deposit(
        k,
        draw[THRESHOLD],
        k / (draw[GROWTH] * draw[WEAR]),
        draw[WEAR],
        draw[SEED] * bench.copper_mol_per_m3 / 1e3,
        draw[PASSIVATION] * bench.acid_mol_per_m3 / 1e3,
        bench.law,
    )
