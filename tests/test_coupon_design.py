"""Hold coupons to fair designs: every combination once a repeat, and an order that chance alone decides."""

from collections import Counter

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from farface.coupon.design import factorial, order_trials, spread
from farface.kernel import Missing, OutOfRange
from farface.records import Setting
from farface.records.knobs import KNOBS

BASE = Setting(pulse_energy_j=2e-4, rate_hz=40e3, pulses_per_point=4, pitch_m=15e-6, passes=12)
ENERGIES = (1e-4, 2e-4, 4e-4)
COUNTS = (2, 4, 8, 12)


def two_factors() -> tuple[Setting, ...]:
    return factorial(BASE, {"pulse_energy_j": ENERGIES, "pulses_per_point": COUNTS})


def test_a_factorial_holds_every_combination_once() -> None:
    pairs = [(setting.pulse_energy_j, setting.pulses_per_point) for setting in two_factors()]
    assert pairs == [(energy, count) for energy in ENERGIES for count in COUNTS]
    assert {setting.rate_hz for setting in two_factors()} == {BASE.rate_hz}


def test_whole_factors_come_out_whole() -> None:
    (setting,) = factorial(BASE, {"pulses_per_point": [6.0], "passes": [20.0]})
    assert (setting.pulses_per_point, setting.passes) == (6, 20)
    assert type(setting.pulses_per_point) is int


def test_three_factors_multiply() -> None:
    levels = {"pulse_energy_j": ENERGIES, "rate_hz": (20e3, 40e3), "focus_offset_m": (-1e-4, 0.0, 1e-4)}
    assert len(set(factorial(BASE, levels))) == 3 * 2 * 3


@pytest.mark.parametrize(
    ("levels", "error", "words"),
    [
        ({"colour": [1.0]}, Missing, "colour"),
        ({"passes": []}, Missing, "no level"),
        ({"pulse_energy_j": [-1e-4]}, OutOfRange, "above zero"),
        ({"pitch_m": [float("nan")]}, OutOfRange, "above zero"),
        ({"passes": [2.5]}, OutOfRange, "whole number"),
    ],
)
def test_levels_that_make_no_sense_are_refused(levels, error, words) -> None:
    with pytest.raises(error, match=words):
        factorial(BASE, levels)


@given(replicates=st.integers(1, 4), per_block=st.integers(1, 2), seed=st.integers(0, 2**32 - 1))
def test_blocks_hold_whole_repeats_and_follow_one_another(replicates, per_block, seed) -> None:
    settings, blocks = two_factors(), replicates
    trials = order_trials(
        settings, replicates=replicates * per_block, blocks=blocks, rng=np.random.default_rng(seed)
    )
    assert sorted(trial.order for trial in trials) == list(range(1, len(trials) + 1))
    for block in range(1, blocks + 1):
        inside = [trial for trial in trials if trial.block == block]
        assert Counter(trial.setting for trial in inside) == dict.fromkeys(settings, per_block)
        turns = sorted(trial.order for trial in inside)
        assert turns == list(range(turns[0], turns[0] + len(settings) * per_block))
        assert turns[0] == 1 + (block - 1) * len(settings) * per_block


def test_the_order_is_drawn_anew_and_repeats_with_its_seed() -> None:
    orders = [
        [trial.order for trial in order_trials(two_factors(), rng=np.random.default_rng(seed))]
        for seed in (1, 1, 2)
    ]
    assert orders[0] == orders[1] != orders[2]


def test_every_turn_is_equally_likely() -> None:
    """The first setting's turn over 1200 draws among 12: chi-square with 11 degrees, 0.1 % point 31.26."""
    rng = np.random.default_rng(7)
    turns = Counter(order_trials(two_factors(), rng=rng)[0].order for _ in range(1200))
    assert sum((turns[turn] - 100.0) ** 2 / 100.0 for turn in range(1, 13)) < 31.26


@pytest.mark.parametrize("counts", [(0, 1), (3, 2), (1, 0)])
def test_blocks_that_would_split_a_repeat_are_refused(counts) -> None:
    with pytest.raises(OutOfRange, match="shared out"):
        order_trials(two_factors(), replicates=counts[0], blocks=counts[1], rng=np.random.default_rng(0))


def test_a_latin_hypercube_puts_one_trial_in_every_slice() -> None:
    ranges = {"pulse_energy_j": (1e-4, 8e-4), "focus_offset_m": (-3e-4, 3e-4)}
    settings = spread(BASE, ranges, trials=16, how="latin_hypercube", rng=np.random.default_rng(3))
    energy_slices = {int(16 * np.log(s.pulse_energy_j / 1e-4) / np.log(8.0)) for s in settings}
    focus_slices = {int(16 * (s.focus_offset_m + 3e-4) / 6e-4) for s in settings}
    assert energy_slices == focus_slices == set(range(16))


def test_sobol_points_fill_both_halves_evenly() -> None:
    """The first 16 points put 8 into each half of every axis; the common shift moves at most one across."""
    ranges = {"pulse_energy_j": (1e-4, 8e-4), "pitch_m": (5e-6, 20e-6)}
    settings = spread(BASE, ranges, trials=16, how="sobol", rng=np.random.default_rng(3))
    for field, (low, high) in ranges.items():
        upper = [getattr(setting, field) > (low * high) ** 0.5 for setting in settings]
        assert 7 <= sum(upper) <= 9
    assert len(set(settings)) == 16


@given(seed=st.integers(0, 2**32 - 1), how=st.sampled_from(["latin_hypercube", "sobol"]))
def test_spread_stays_in_its_ranges(seed, how) -> None:
    ranges = {"pulse_energy_j": (1e-4, 8e-4), "pulses_per_point": (2, 12), "focus_offset_m": (-1e-4, 2e-4)}
    for setting in spread(BASE, ranges, trials=7, how=how, rng=np.random.default_rng(seed)):
        for field, (low, high) in ranges.items():
            assert low <= getattr(setting, field) <= high


def test_a_range_that_begins_at_zero_is_refused() -> None:
    with pytest.raises(OutOfRange, match="begin above zero"):
        spread(BASE, {"rate_hz": (0.0, 8e4)}, trials=4, how="sobol", rng=np.random.default_rng(0))


def test_every_factor_is_a_knob_of_a_setting() -> None:
    assert set(KNOBS) == set(Setting.__dataclass_fields__)
