import math

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.integrate import quad

from farface.etch.deposit import (
    LINEAR,
    LOGARITHMIC,
    RISE_GAIN_K,
    RISE_REMOVAL_K,
    Deposit,
    burst,
    removed_m,
    residual_heat_k_m2_per_j,
    stamp_fullness,
    threshold_left_j_per_m2,
)
from farface.etch.etched import REMOVAL_ENERGY_J_PER_M3

K_M3_PER_J = 1e-11
RUNAWAY_SCALE_J_PER_M2 = 1e6
WEAR_M = 2e-6
GLASS_EFFUSIVITY = 1414.0
GLASS_DIFFUSIVITY = 5e-7
SPOT_M = 20e-6


def deposit(*, passivation: float = 0.0, seed: float = 1e-4, threshold_j_per_m2: float = 5e3) -> Deposit:
    return Deposit(
        K_M3_PER_J,
        threshold_j_per_m2,
        K_M3_PER_J / (RUNAWAY_SCALE_J_PER_M2 * WEAR_M),
        WEAR_M,
        seed,
        passivation,
    )


def residue(pulses: int, rate_hz: float, share: float = 0.3) -> NDArray[np.float64]:
    return residual_heat_k_m2_per_j(pulses, 1.0 / rate_hz, share, GLASS_EFFUSIVITY, SPOT_M, GLASS_DIFFUSIVITY)


@pytest.mark.exact
def test_burst_equals_its_slow_twin() -> None:
    constants, left = deposit(), residue(6, 40e3)
    history = np.empty((3, 6))
    m, removed = burst(0.03, 0.2, 4e5, 6, left, constants, history)
    twin_m, twin_removed, absorbed = 0.03 + constants.seed, 0.0, []
    for n in range(6):
        rise = sum(left[n - 1 - j] * absorbed[j] for j in range(n))
        af = 4e5 * -math.expm1(-twin_m)
        dh = max(K_M3_PER_J * (af - max(5e3 * (1 - rise / RISE_REMOVAL_K), 0.0)), 0.0)
        growth = constants.growth_m4_per_j2 * 0.8 * (1 + rise / RISE_GAIN_K)
        twin_m = (twin_m + growth * af**2) * math.exp(-dh / WEAR_M)
        twin_removed += dh
        absorbed.append(af)
    assert m == pytest.approx(twin_m, rel=1e-12)
    assert removed == pytest.approx(twin_removed, rel=1e-12)
    assert history[0] == pytest.approx(absorbed)


@pytest.mark.exact
@pytest.mark.parametrize("share", [0.01, 0.3, 0.9])
@pytest.mark.parametrize("law", [LINEAR, LOGARITHMIC])
def test_stamp_fullness_is_the_integral_of_the_dent(share: float, law: int) -> None:
    """Integrate what each place of the spot loses over the plane, in units of the peak x pi w^2 / 2."""
    constants = deposit(threshold_j_per_m2=share)._replace(law=law)
    edge = math.sqrt(-0.5 * math.log(share))
    volume = quad(lambda r: 2 * math.pi * r * removed_m(math.exp(-2 * r * r), share, constants), 0, edge)[0]
    expected = volume / (0.5 * math.pi * removed_m(1.0, share, constants))
    assert stamp_fullness(share, 1.0, law) == pytest.approx(expected, rel=1e-7)


@pytest.mark.exact
def test_both_laws_start_alike_and_part_above() -> None:
    linear, logarithmic = deposit(), deposit()._replace(law=LOGARITHMIC)
    assert removed_m(5.01e3, 5e3, logarithmic) == pytest.approx(removed_m(5.01e3, 5e3, linear), rel=2e-3)
    assert removed_m(2e4, 5e3, logarithmic) == pytest.approx(K_M3_PER_J * 5e3 * math.log(4.0))
    assert removed_m(4.9e3, 5e3, logarithmic) == 0.0


def test_warm_glass_loses_more_under_either_law() -> None:
    """The depth that the logarithmic law adds per factor of fluence stays that of cold glass."""
    for law in (LINEAR, LOGARITHMIC):
        constants = deposit()._replace(law=law)
        taken = [
            removed_m(2e4, threshold_left_j_per_m2(rise, constants), constants) for rise in (0, 500, 1400)
        ]
        assert taken == sorted(taken)
        assert taken[0] < taken[1]


@pytest.mark.published
@pytest.mark.parametrize(
    ("threshold_j_per_cm2", "fluence_j_per_cm2", "depth_nm"),
    [(3.0, 12.0, 350.0), (0.2, 4.0, 600.0)],
)
def test_published_etch_laws_lie_within_the_prior_of_the_removal_share(
    threshold_j_per_cm2: float, fluence_j_per_cm2: float, depth_nm: float
) -> None:
    """Gallium: Zimmer et al., Appl. Phys. A 86 (2007) 409; silver: Hopp et al., Appl. Surf. Sci. 253 (2007).

    Their slope in m3/J times the removal energy is the share, taking the metal's absorptance as near 1.
    """
    slope = depth_nm * 1e-9 / ((fluence_j_per_cm2 - threshold_j_per_cm2) * 1e4)
    share = slope * REMOVAL_ENERGY_J_PER_M3
    median, factor = 0.10, 1.6
    assert median / factor**2.1 < share < median * factor**2.1
