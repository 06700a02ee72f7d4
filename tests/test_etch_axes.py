import math
from dataclasses import replace

import numpy as np
import pytest

from bench_records import BATH, RIG
from farface.etch.axes import AXES, Case
from farface.etch.bench import etch_bench
from farface.etch.forecast import forecast
from farface.etch.sensitivity import sensitivity
from farface.etch.unknowns import draw_prior
from farface.etch.window import case_at, window
from farface.kernel import OutOfRange
from farface.records import Setting

BENCH = etch_bench(RIG, BATH)
SETTING = Setting(pulse_energy_j=3e-4, rate_hz=40e3, pulses_per_point=8, pitch_m=12e-6, passes=10)
DRAWS = draw_prior(BENCH, 64, np.random.default_rng(4))
CASE = Case(bench=BENCH, setting=SETTING, draws=DRAWS)


@pytest.mark.exact
@pytest.mark.parametrize("name", AXES)
def test_an_axis_reads_back_where_it_was_moved(name: str) -> None:
    axis = AXES[name]
    value = 7.0 if axis.whole else 0.8 * axis.read(CASE) + (1e-5 if name == "focus" else 0.0)
    assert axis.read(axis.move(CASE, value)) == pytest.approx(value)


@pytest.mark.exact
def test_marking_speed_is_pitch_times_rate_over_pulses() -> None:
    assert AXES["speed"].read(CASE) == pytest.approx(12e-6 * 40e3 / 8)
    assert AXES["speed"].move(CASE, 0.12).setting.pitch_m == pytest.approx(24e-6)


@pytest.mark.exact
def test_half_the_copper_is_another_bath_of_half_the_copper() -> None:
    """Moving along the axis equals describing such a bath anew."""
    half = replace(BATH, copper_mol_per_m3=0.5 * BATH.copper_mol_per_m3)
    anew, moved = etch_bench(RIG, half), AXES["copper"].move(CASE, half.copper_mol_per_m3)
    assert moved.bench.absorption_per_m.value == pytest.approx(anew.absorption_per_m.value, rel=1e-12)
    # The width left out is that of water's own absorption, a hundredth of the whole.
    assert moved.bench.absorption_per_m.sd == pytest.approx(anew.absorption_per_m.sd, rel=1e-3)
    medians = DRAWS.copy()
    medians[:, 0] = moved.draws[:, 0]
    assert np.array_equal(
        forecast(moved.bench, [SETTING], moved.draws).values, forecast(anew, [SETTING], medians).values
    )


def test_copper_beyond_what_dissolves_is_refused() -> None:
    with pytest.raises(OutOfRange):
        AXES["copper"].move(CASE, 2000.0)


def test_a_window_over_copper_forecasts_each_bath() -> None:
    found = window(BENCH, SETTING, DRAWS, x=("copper", [500.0, 1000.0]), y=("energy", [2e-4, 3e-4]))
    moved = AXES["copper"].move(CASE, 500.0)
    alone = forecast(moved.bench, [replace(SETTING, pulse_energy_j=3e-4)], moved.draws)
    assert found.odds[1, 0] == pytest.approx(alone.odds.mean(axis=(0, 1)))


@pytest.mark.exact
def test_sensitivity_of_a_monomial_is_its_squared_exponents() -> None:
    """y = a^3 b with equal spreads: nine parts to a, one to b; ranks of a Gaussian keep the shares."""
    rng = np.random.default_rng(8)
    draws = np.exp(rng.standard_normal((40_000, 3)))
    found = sensitivity(draws, draws[:, 0] ** 3 * draws[:, 1])
    # Ranks cost a factor 3/pi of variance explained, and sampling a percent.
    assert found.shares == pytest.approx(np.array([0.9, 0.1, 0.0]) * 3.0 / np.pi, abs=0.01)
    assert found.explained_share == pytest.approx(3.0 / np.pi, abs=0.01)


@pytest.mark.exact
def test_correlated_unknowns_share_a_prediction_that_one_of_them_makes() -> None:
    """y = a, with r between a and b; the symmetric root of [[1, r], [r, 1]] has p, q = (c +- s) / 2,
    with c, s = sqrt(1 +- r): p^4 + q^4 falls to a, 2 p^2 q^2 to b. Squared slopes of y = a^3 / b^2
    would exceed the whole."""
    rng, r = np.random.default_rng(8), 0.9
    normals = rng.multivariate_normal([0.0, 0.0], [[1.0, r], [r, 1.0]], 40_000)
    draws = np.exp(np.column_stack([normals, np.zeros(40_000)]))
    p, q = (math.sqrt(1.0 + r) + sign * math.sqrt(1.0 - r) for sign in (1.0, -1.0))
    found = sensitivity(draws, draws[:, 0])
    expected = np.array([p**4 + q**4, 2.0 * (p * q) ** 2, 0.0]) / 16.0 * 3.0 / np.pi
    assert found.shares == pytest.approx(expected, abs=0.01)
    opposed = sensitivity(draws, draws[:, 0] ** 3 / draws[:, 1] ** 2)
    assert opposed.shares.min() >= 0.0
    assert opposed.explained_share == pytest.approx(3.0 / np.pi, abs=0.01)


def test_a_map_too_large_to_forecast_at_once_is_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    axes = {"x": ("energy", [1e-4, 2e-4, 3e-4, 4e-4]), "y": ("rate", [30e3, 40e3, 50e3])}
    whole = window(BENCH, SETTING, DRAWS, **axes)
    monkeypatch.setattr("farface.etch.window.MOST_AT_ONCE", 5)
    pieces = window(BENCH, SETTING, DRAWS, **axes)
    assert np.array_equal(whole.odds, pieces.odds)
    assert np.array_equal(whole.margin_low, pieces.margin_low)


def test_speed_holds_whatever_the_rate() -> None:
    """Speed follows from pitch, rate and pulses: it is moved last, on whichever axis it lies."""
    for axes in (("speed", "rate"), ("rate", "speed"), ("pulses", "speed")):
        values = {"speed": [0.05, 0.1], "rate": [30e3, 60e3], "pulses": [4.0, 8.0]}
        x, y = ((name, values[name]) for name in axes)
        found = window(BENCH, SETTING, DRAWS[:4], x=x, y=y)
        cases = [Case(bench=BENCH, setting=setting, draws=DRAWS) for setting in found.settings]
        for i, case in enumerate(cases):
            assert found.x.read(case) == pytest.approx(found.x_values[i % 2])
            assert found.y.read(case) == pytest.approx(found.y_values[i // 2])


def test_pitch_and_speed_together_are_refused() -> None:
    with pytest.raises(OutOfRange, match="either follows from the other"):
        window(BENCH, SETTING, DRAWS, x=("pitch", [1e-5, 2e-5]), y=("speed", [0.05, 0.1]))


@pytest.mark.parametrize("y", [name for name in AXES if name != "copper"])
def test_a_bath_is_mixed_once_a_value(y: str) -> None:
    """Benches and draws of a copper axis are shared by its cells, on either side of the map."""
    at = AXES[y].read(CASE)
    found = window(BENCH, SETTING, DRAWS[:8], x=("copper", [500.0, 1000.0]), y=(y, [at, at + 1.0]))
    turned = window(BENCH, SETTING, DRAWS[:8], x=(y, [at, at + 1.0]), y=("copper", [500.0, 1000.0]))
    assert np.array_equal(found.odds, turned.odds.swapaxes(0, 1))


def test_a_cell_can_be_explained_by_itself() -> None:
    found = window(BENCH, SETTING, DRAWS, x=("copper", [500.0, 1000.0]), y=("speed", [0.05, 0.1]))
    case = case_at(BENCH, SETTING, DRAWS, x=("copper", 500.0), y=("speed", 0.1))
    alone = forecast(case.bench, [case.setting], case.draws)
    assert found.odds[1, 0] == pytest.approx(alone.odds.mean(axis=(0, 1)))
