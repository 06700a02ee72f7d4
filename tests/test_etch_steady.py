"""Hold the solved steady states to closed forms, to the map simply run, and to a slow twin that scans."""

import math
from itertools import pairwise

import numpy as np
import pytest
from numpy.typing import NDArray

from bench_records import BATH, RIG
from farface.etch.bench import etch_bench
from farface.etch.branch import BRANCH_SHAPE, RUNAWAY_REMOVAL_M, solve_branch
from farface.etch.branch_cubic import LOG_F, LOG_R
from farface.etch.burst_slopes import WAYS, burst_slopes
from farface.etch.deposit import LOGARITHMIC, Deposit, burst, passivated_with_slope, residual_heat_k_m2_per_j
from farface.etch.etched import deposit_constants
from farface.etch.steady import map_slope, quiet_state, runaway_fluence_j_per_m2
from farface.etch.steady_node import room_for_bursts
from farface.etch.unknowns import RESIDUE, SPOT, draw_prior
from test_etch_deposit import (
    GLASS_DIFFUSIVITY,
    GLASS_EFFUSIVITY,
    K_M3_PER_J,
    RUNAWAY_SCALE_J_PER_M2,
    deposit,
    residue,
)

# The closed form leaves out the seed, the exponential of absorptance and the removal's own wear.
CLOSED_FORM = 0.08
# Newton's method stops at a step of 1e-3, so at about its square.
SOLVED = 2e-5
# Twenty thousand bursts from a bare face do not settle nearer the fold, nor leave sooner.
FOLD = 0.01
# The scan of the slow twin misses a quiet state narrower than its step; a kink hides a fold from the branch.
SCANNED = 1e-2
SCAN_FACTOR = 1.003
BENCH = etch_bench(RIG, BATH)
DRAWS = draw_prior(BENCH, 12, np.random.default_rng(7))


def settled(
    m: float, fluence: float, pulses: int, left: NDArray[np.float64], c: Deposit
) -> tuple[float, float]:
    """Run a burst again and again under the passivation that its own removal settles at."""
    per_pulse, history = 0.0, np.empty((3, pulses))
    for _ in range(200):
        skin = c.passivation / (c.passivation - math.expm1(-per_pulse / c.wear_m)) if c.passivation else 0.0
        after, removed = burst(m, skin, fluence, pulses, left, c, history)
        if abs(removed / pulses - per_pulse) <= 1e-10 * per_pulse:
            break
        per_pulse = removed / pulses
    return after, per_pulse


def scanned(fluence: float, pulses: int, left: NDArray[np.float64], c: Deposit) -> tuple[bool, float]:
    """Climb in small steps from next to no deposit until a burst leaves less; return the removal."""
    low = high = 1e-4
    after, per_pulse = settled(high, fluence, pulses, left, c)
    while after > high and per_pulse <= RUNAWAY_REMOVAL_M:
        low, high = high, high * SCAN_FACTOR
        after, per_pulse = settled(high, fluence, pulses, left, c)
    if per_pulse > RUNAWAY_REMOVAL_M:
        return False, per_pulse
    for _ in range(40):
        middle = 0.5 * (low + high)
        after, per_pulse = settled(middle, fluence, pulses, left, c)
        low, high = (middle, high) if after > middle else (low, middle)
    return True, per_pulse


def drawn(index: int, rate_hz: float, acid_mol_per_m3: float) -> tuple[Deposit, NDArray[np.float64]]:
    """Return the constants of a draw from the prior, and what its pulses leave."""
    draw, numbers = DRAWS[index], BENCH.numbers()._replace(acid_mol_per_m3=acid_mol_per_m3)
    left = residual_heat_k_m2_per_j(
        8, 1.0 / rate_hz, draw[RESIDUE], GLASS_EFFUSIVITY, draw[SPOT], GLASS_DIFFUSIVITY
    )
    return deposit_constants(draw, numbers), left


@pytest.mark.exact
@pytest.mark.parametrize("law", [0, LOGARITHMIC])
def test_slopes_of_a_burst_are_its_differences(law: int) -> None:
    constants, left = deposit()._replace(law=law), residue(6, 40e3)
    history, found, room = np.empty((3, 6)), np.empty((2, WAYS)), np.empty((6, WAYS))
    at = np.array([0.03, 4e5, 0.2])

    def run(m: float, fluence: float, skin: float) -> NDArray[np.float64]:
        return np.array(burst(m, skin, fluence, 6, left, constants, history))

    burst_slopes(at[0], at[2], at[1], 6, left, constants, room, found)
    assert found[:, 0] == pytest.approx(run(*at), rel=1e-12)
    for way in range(3):
        step = np.zeros(3)
        step[way] = 1e-5 * at[way]
        difference = (run(*(at + step)) - run(*(at - step))) / (2.0 * step[way])
        # What central differences of this step leave.
        assert found[:, way + 1] == pytest.approx(difference, rel=1e-6)


@pytest.mark.exact
@pytest.mark.parametrize("removal_m", [2e-9, 3e-8, 7e-7])
@pytest.mark.parametrize("acid", [0.0, 1000.0])
@pytest.mark.parametrize("index", range(4))
def test_the_steady_state_of_single_pulses_is_explicit(removal_m: float, acid: float, index: int) -> None:
    """Q = F_th + r / k is absorbed, growth meets wear: m + m_0 = (m_0 + g Q^2 (1 - s) e) / (1 - e)."""
    c, left = drawn(index, 40e3, acid)
    absorbed, kept = c.threshold_j_per_m2 + removal_m / c.removal_m3_per_j, math.exp(-removal_m / c.wear_m)
    skin = c.passivation / (c.passivation + 1.0 - kept)
    met = (c.seed + c.growth_m4_per_j2 * (1.0 - skin) * absorbed**2 * kept) / (1.0 - kept)
    fluence = absorbed / -math.expm1(-met)
    exists, m, found_m = quiet_state(fluence, 1, left, c)
    # Past the fold the same fluence has a quieter state, or none.
    if exists and found_m > 0.9 * removal_m:
        assert found_m == pytest.approx(removal_m, rel=SOLVED)
        assert m == pytest.approx(met - c.seed, rel=SOLVED)
    assert runaway_fluence_j_per_m2(1, left, c) >= fluence * (1.0 - SOLVED)


@pytest.mark.slow
@pytest.mark.exact
@pytest.mark.parametrize("rate_hz", [20e3, 40e3, 100e3])
@pytest.mark.parametrize("pulses", [1, 2, 3, 8])
@pytest.mark.parametrize("acid", [0.0, 1000.0])
def test_quiet_states_equal_their_slow_twin(rate_hz: float, pulses: int, acid: float) -> None:
    for index in range(len(DRAWS)):
        c, left = drawn(index, rate_hz, acid)
        fold = runaway_fluence_j_per_m2(pulses, left, c)
        for share in (0.2, 0.6, 0.95):
            exists, _, removal_m = quiet_state(share * fold, pulses, left, c)
            there, expected_m = scanned(share * fold, pulses, left, c)
            assert exists and there
            assert removal_m == pytest.approx(expected_m, rel=SOLVED, abs=1e-10)
        assert scanned((1.0 - SCANNED) * fold, pulses, left, c)[0]
        assert not scanned((1.0 + SCANNED) * fold, pulses, left, c)[0]


def test_the_branch_goes_from_little_removal_to_much_and_tops_at_the_fold() -> None:
    c, left = deposit(passivation=0.01), residue(4, 40e3)
    branch = np.empty(BRANCH_SHAPE)
    count, top = solve_branch(4, left, c, room_for_bursts(4), branch)
    assert all(a < b for a, b in pairwise(branch[:count, LOG_R]))
    assert 0 < top < count - 1
    assert math.exp(branch[top, LOG_F]) == runaway_fluence_j_per_m2(4, left, c)


@pytest.mark.exact
@pytest.mark.parametrize(("rate_hz", "pulses"), [(40e3, 4), (20e3, 8)])
def test_at_the_fold_a_disturbance_no_longer_dies_out(rate_hz: float, pulses: int) -> None:
    c, left = deposit(), residue(pulses, rate_hz)
    fold = runaway_fluence_j_per_m2(pulses, left, c)
    slopes = [
        map_slope(quiet_state(share * fold, pulses, left, c)[1], share * fold, pulses, left, c)
        for share in (0.5, 0.9, 1.0 - 1e-6)
    ]
    assert slopes == sorted(slopes)
    # The distance from 1 falls as the root of the distance from the fold.
    assert slopes[-1] == pytest.approx(1.0, abs=0.01)


@pytest.mark.exact
@pytest.mark.parametrize("fluence_j_per_cm2", [10.0, 20.0, 40.0, 60.0])
def test_quiet_state_meets_the_closed_form_without_left_over_heat(fluence_j_per_cm2: float) -> None:
    """m* = (F_th / F) / (1 - F / F_c); removal k F_th (F / F_c) / (1 - F / F_c)."""
    fluence = fluence_j_per_cm2 * 1e4
    share = fluence / RUNAWAY_SCALE_J_PER_M2
    left, constants = residue(1, 40e3, 0.0), deposit(seed=1e-9)
    exists, m, removal_m = quiet_state(fluence, 1, left, constants)
    assert exists
    assert map_slope(m, fluence, 1, left, constants) < 1.0
    assert m == pytest.approx(5e3 / fluence / (1.0 - share), rel=CLOSED_FORM)
    assert removal_m == pytest.approx(K_M3_PER_J * 5e3 * share / (1.0 - share), rel=CLOSED_FORM)


@pytest.mark.exact
@pytest.mark.parametrize(("rate_hz", "pulses"), [(40e3, 4), (40e3, 10), (20e3, 4), (80e3, 4)])
def test_iterating_stays_quiet_below_the_fold_and_runs_away_above(rate_hz: float, pulses: int) -> None:
    """The fold is solved for; here the map is simply run, from a bare face, burst after burst."""
    constants, left = deposit(), residue(pulses, rate_hz)
    fold = runaway_fluence_j_per_m2(pulses, left, constants)
    for factor, quiet in ((1.0 - FOLD, True), (1.0 + FOLD, False)):
        m, removed, history = 0.0, 0.0, np.empty((3, pulses))
        for _ in range(20_000):
            m, removed = burst(m, 0.0, factor * fold, pulses, left, constants, history)
        assert (removed / pulses < 1e-6) is quiet


@pytest.mark.exact
@pytest.mark.parametrize(
    ("rate_hz", "pulses", "quiet_j_per_cm2", "wild_j_per_cm2"),
    [(40e3, 4, 40, 60), (40e3, 10, 20, 40), (20e3, 4, 40, 80), (80e3, 4, 20, 60)],
)
def test_the_cliff_lies_where_a_second_implementation_saw_it(
    rate_hz: float, pulses: int, quiet_j_per_cm2: float, wild_j_per_cm2: float
) -> None:
    """A separate trial of the same equations, marched instead of solved, bracketed the cliff like this."""
    fold = runaway_fluence_j_per_m2(pulses, residue(pulses, rate_hz), deposit())
    assert quiet_j_per_cm2 * 1e4 * (1.0 - FOLD) < fold < wild_j_per_cm2 * 1e4


def test_the_fold_moves_out_with_fewer_pulses_a_lower_rate_and_a_skin() -> None:
    def fold(pulses: int, rate_hz: float, passivation: float = 0.0) -> float:
        return runaway_fluence_j_per_m2(pulses, residue(pulses, rate_hz), deposit(passivation=passivation))

    assert fold(4, 40e3) > fold(10, 40e3)
    assert fold(4, 20e3) > fold(4, 40e3) > fold(4, 80e3)
    assert fold(4, 40e3, 0.02) > 1.1 * fold(4, 40e3)


@pytest.mark.exact
@pytest.mark.parametrize("fluence", [1e5, 2e5, 3.5e5, 4.3e5])
@pytest.mark.parametrize("passivation", [0.0, 0.01])
def test_the_quiet_state_stays_when_the_map_is_run(fluence: float, passivation: float) -> None:
    constants, left = deposit(passivation=passivation), residue(4, 40e3)
    exists, m, removal_m = quiet_state(fluence, 4, left, constants)
    assert exists
    history, run, removed = np.empty((3, 4)), m, 0.0
    skin, _ = passivated_with_slope(removal_m, constants)
    for _ in range(3000):
        run, removed = burst(run, skin, fluence, 4, left, constants, history)
    assert run == pytest.approx(m, rel=SOLVED)
    assert removed / 4 == pytest.approx(removal_m, rel=SOLVED, abs=1e-10)


def test_a_threshold_of_next_to_nothing_ends_too() -> None:
    left = residue(4, 40e3)
    exists, m, _ = quiet_state(1e5, 4, left, deposit(threshold_j_per_m2=1e-14))
    assert m > 0.0 or not exists


def test_below_the_threshold_nothing_is_removed() -> None:
    exists, _, removal_m = quiet_state(4e3, 1, residue(1, 40e3), deposit())
    assert exists and removal_m == 0.0
