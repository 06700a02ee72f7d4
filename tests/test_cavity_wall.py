import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from farface.cavity.wall import FIRST_ORDER_SHARE, life_ratio, radius_at_wall_m, volume_share
from farface.kernel import OutOfRange
from farface.materials.bubble_life import energy_from_radius_j, radius_from_energy_m

OVERPRESSURE_PA = 98986.0


def _collapse(nearness: float) -> float:
    """Collapse time in R sqrt(rho/dp) when the image adds R/(2h) to the liquid's inertia, by quadrature."""
    # With x = sin^2(a)^(1/3) the root at the start of the collapse is gone.
    integral = quad(
        lambda a: math.sqrt(1.0 + 0.5 * nearness * math.sin(a) ** (2 / 3)) * math.sin(a) ** (2 / 3),
        0.0,
        math.pi / 2,
        epsabs=1e-13,
    )[0]
    return math.sqrt(1.5) * 2.0 / 3.0 * integral


@pytest.mark.exact
def test_first_order_as_printed_and_by_quadrature() -> None:
    """B(7/6, 1/2) / (4 B(5/6, 1/2)) = 0.203245."""
    assert f"{FIRST_ORDER_SHARE:.6f}" == "0.203245"
    assert _collapse(0.0) == pytest.approx(0.9146813565, rel=1e-10)
    slope = (_collapse(1e-4) - _collapse(-1e-4)) / 2e-4 / _collapse(0.0)
    assert slope == pytest.approx(FIRST_ORDER_SHARE, rel=1e-6)


@pytest.mark.from_memory
def test_first_order_in_the_literature() -> None:
    """Rattray's 0.205, quoted from memory."""
    assert pytest.approx(0.205, rel=0.01) == FIRST_ORDER_SHARE


@pytest.mark.exact
def test_a_hemisphere_lives_as_long_as_its_sphere() -> None:
    assert life_ratio(0.0) == pytest.approx(1.0, rel=1e-6)
    assert volume_share(0.0) == 0.5


@pytest.mark.exact
@pytest.mark.parametrize("gamma", [1.0, 2.0, 10.0, 1e6])
def test_far_from_the_wall_the_first_order_holds(gamma: float) -> None:
    assert life_ratio(gamma) == pytest.approx(1.0 + FIRST_ORDER_SHARE / gamma, rel=1e-12)


@pytest.mark.exact
@pytest.mark.parametrize("gamma", [0.0, 0.3, 0.99])
def test_volume_in_front_of_the_wall_by_discs(gamma: float) -> None:
    height = np.linspace(-gamma, 1.0, 20001)
    discs = np.trapezoid(np.pi * (1.0 - height**2), height)
    assert volume_share(gamma) == pytest.approx(discs / (4.0 / 3.0 * np.pi), abs=1e-8)


@given(gamma=st.floats(0.0, 100.0))
def test_life_is_lengthened_a_little_and_without_a_jump(gamma: float) -> None:
    assert 1.0 <= life_ratio(gamma) < 1.21
    assert life_ratio(gamma + 1e-9) == pytest.approx(life_ratio(gamma), abs=1e-8)


@pytest.mark.published
@pytest.mark.parametrize(("share", "printed"), [(0.15, "416.7"), (0.20, "458.6")])
def test_hemisphere_from_energy_as_printed(share: float, printed: str) -> None:
    """Linz et al., Rep. Prog. Phys. 88 (2025) 088501: 15 to 20 % of 100 uJ go to the cavity."""
    radius_m = radius_at_wall_m(energy_j=share * 100e-6, overpressure_pa=OVERPRESSURE_PA, standoff_ratio=0.0)
    assert f"{radius_m * 1e6:.1f}" == printed


@given(energy_j=st.floats(1e-9, 1e-2), gamma=st.floats(1.0, 50.0))
def test_a_whole_sphere_has_rayleighs_radius(energy_j: float, gamma: float) -> None:
    radius_m = radius_at_wall_m(energy_j=energy_j, overpressure_pa=OVERPRESSURE_PA, standoff_ratio=gamma)
    assert radius_m / radius_from_energy_m(energy_j, OVERPRESSURE_PA) == pytest.approx(1.0, rel=1e-12)
    assert energy_from_radius_j(radius_m, OVERPRESSURE_PA) / energy_j == pytest.approx(1.0, rel=1e-12)


def test_a_centre_inside_the_glass_is_refused() -> None:
    with pytest.raises(OutOfRange, match="0 or more"):
        life_ratio(-0.1)
