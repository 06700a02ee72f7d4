import math

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.integrate import dblquad

from farface.etch.column import Column, Firing, Liquid, boiling, column_energy_j, column_shares
from farface.etch.ignition import Ignition, balance, ignite, long_run_starts, room_for_points
from farface.heat.drain import PROBES_ZETA, drain_table
from farface.heat.halfspace import Pair, response

WATER = Liquid(998.2 * 4182.0, 0.598 / (998.2 * 4182.0), 998.2, 98986.0, 80.0)
PAIR = Pair(diffusivity_ratio=WATER.diffusivity_m2_per_s / 5e-7, conductivity_ratio=0.598)
DRAIN = drain_table(PAIR).factor
SPOT_M = 20e-6
ALPHA_PER_M = 1050.0
NEEDED_K = 280.0
DISPERSION = 0.1
SHARE = 0.15
COLUMN = Column(SPOT_M, ALPHA_PER_M, NEEDED_K, DISPERSION, SHARE)
# Long enough for every point to be on its own.
LONELY_JUMP_S = 1.0
# Sampling error of 20,000 points, about four standard errors of a share.
SAMPLING = 0.015


def lit(heating_k: float, rate_hz: float, pulses: int, **other: float) -> Ignition:
    values = {"jump_s": LONELY_JUMP_S, "pitch_m": 15e-6, "share": SHARE, **other}
    firing = Firing(rate_hz, pulses, values["pitch_m"], values["jump_s"], 2e-3)
    column = COLUMN._replace(bubble_share=values["share"])
    return balance(heating_k, firing, column, column_shares(firing, column, WATER, DRAIN), WATER)[0]


def own_rise(rate_hz: float, pulses: int) -> NDArray[np.float64]:
    """Return the hottest rise after each pulse of a lonely fresh point, in T0, from the exact response."""
    tau = np.arange(1, pulses) / rate_hz * WATER.diffusivity_m2_per_s / SPOT_M**2
    left = np.zeros((pulses, PROBES_ZETA.size))
    for i, zeta in enumerate(PROBES_ZETA):
        left[1:, i] = np.cumsum(response(PAIR, alpha_w=ALPHA_PER_M * SPOT_M, tau=tau, zeta=zeta))
    fresh = np.exp(-ALPHA_PER_M * SPOT_M * PROBES_ZETA)
    return np.asarray((left + fresh).max(axis=1))


@pytest.mark.exact
@pytest.mark.parametrize("heating_k", [50.0, 76.0, 120.0])
def test_flashes_of_lonely_points_match_a_plain_simulation(heating_k: float) -> None:
    """Each pulse draws its own threshold; cavities are made too short to meet a pulse."""
    pulses, rng = 6, np.random.default_rng(11)
    rise = own_rise(20e3, pulses) * heating_k
    flashes, points = 0, 20_000
    for _ in range(points):
        age = 0
        for needed in NEEDED_K * np.exp(DISPERSION * rng.standard_normal(pulses)):
            if rise[age] > needed:
                flashes, age = flashes + 1, 0
            else:
                age += 1
    found = lit(heating_k, 20e3, pulses, share=1e-9)
    assert found.inside_per_flash == pytest.approx(0.0, abs=1e-3)
    assert found.flashes_per_point == pytest.approx(flashes / points, abs=SAMPLING)


@pytest.mark.exact
def test_column_energy_is_the_integral_of_the_heat_above_saturation() -> None:
    over = 0.7

    def stored(r: float, z: float) -> float:
        rise = math.exp(over) * NEEDED_K * math.exp(-2 * (r / SPOT_M) ** 2 - ALPHA_PER_M * z)
        return 2 * math.pi * r * max(rise - WATER.saturation_rise_k, 0.0) * WATER.heat_capacity_j_per_m3_k

    expected = dblquad(stored, 0.0, over / ALPHA_PER_M, 0.0, 3 * SPOT_M, epsabs=1e-12)[0]
    found = column_energy_j(over, COLUMN, WATER)
    # Kink of the integrand at saturation.
    assert found == pytest.approx(expected, rel=1e-4)


def test_a_pulse_that_meets_a_cavity_is_on_time_and_close() -> None:
    found = lit(200.0, 40e3, 8)
    assert 0.5 < found.inside_per_flash < found.life_s * 40e3 + 0.5


def test_neighbours_help_a_weak_setting_to_ignite() -> None:
    assert lit(40.0, 40e3, 4, jump_s=60e-6).flashes_per_point > 5 * lit(40.0, 40e3, 4).flashes_per_point


def test_more_heating_never_lengthens_the_wait() -> None:
    flashes = [lit(heating, 40e3, 4, jump_s=60e-6).flashes_per_point for heating in (30, 50, 80, 120)]
    assert flashes == sorted(flashes)


@pytest.mark.exact
@pytest.mark.parametrize("states", [1, 2, 5, 9])
def test_long_run_starts_are_the_chain_s_eigenvector(states: int) -> None:
    following = np.random.default_rng(states).dirichlet(np.full(states, 0.3), size=states)
    starts = np.zeros(states)
    long_run_starts(starts, following, np.empty((states, states)), states)
    values, vectors = np.linalg.eig(following.T)
    expected = np.real(vectors[:, np.argmax(np.real(values))])
    # A line begins anew once in a million points.
    assert starts == pytest.approx(expected / expected.sum(), abs=1e-4)


@pytest.mark.exact
def test_a_start_that_never_comes_counts_for_nothing() -> None:
    """Starts 1 and 2 only follow one another; a line that begins at 0 stays there."""
    following = np.array([[1.0, 0.0, 0.0], [0.0, 0.0, 1.0], [0.0, 1.0, 0.0]])
    starts = np.zeros(3)
    long_run_starts(starts, following, np.empty((3, 3)), 3)
    assert starts == pytest.approx([1.0, 0.0, 0.0], abs=1e-6)


def test_room_left_by_an_earlier_setting_does_not_show() -> None:
    room, boil = room_for_points(8), boiling(COLUMN, WATER)
    found = []
    for heating_k, pulses in ((200.0, 8), (60.0, 3), (120.0, 5), (60.0, 3), (200.0, 8)):
        firing = Firing(40e3, pulses, 15e-6, 60e-6, 2e-3)
        shares = column_shares(firing, COLUMN, WATER, DRAIN)
        found.append(ignite(heating_k, firing, COLUMN, shares, boil, room))
    assert found[1] == found[3]
    assert found[0] == found[4]
