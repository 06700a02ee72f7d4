"""Hold Rayleigh's size, life, energy and radius curve to printed numbers and closed forms."""

import math

import numpy as np
import pytest
from scipy.integrate import quad

from farface.materials.bubble_life import (
    COLLAPSE_FACTOR,
    energy_from_radius_j,
    life_s,
    radius_from_energy_m,
    radius_from_life_m,
    radius_share,
)

WATER_KG_PER_M3 = 998.2
OVERPRESSURE_PA = 98986.0

QUADRATURE = 1e-7  # share of a life: the integrand is singular at both ends
APPROXIMATION = 0.02  # share of R_max: what (1 - s^2)^(2/5) leaves out


@pytest.mark.exact
def test_collapse_factor_is_the_gamma_quotient() -> None:
    """Rayleigh, Phil. Mag. 34 (1917) 94."""
    exact = math.sqrt(math.pi / 6.0) * math.gamma(5 / 6) / math.gamma(4 / 3)
    assert pytest.approx(exact, rel=1e-11) == COLLAPSE_FACTOR
    assert f"{COLLAPSE_FACTOR:.10f}" == "0.9146813565"


@pytest.mark.exact
@pytest.mark.parametrize(("radius_um", "collapse_us"), [(100.0, 9.1853), (36.0, 3.3067)])
def test_collapse_times_as_printed(radius_um: float, collapse_us: float) -> None:
    found = life_s(radius_um * 1e-6, WATER_KG_PER_M3, OVERPRESSURE_PA) / 2.0
    assert found == pytest.approx(collapse_us * 1e-6, rel=1e-4)


@pytest.mark.exact
def test_bubble_energy_as_printed() -> None:
    assert energy_from_radius_j(500e-6, OVERPRESSURE_PA) == pytest.approx(51.829e-6, rel=1e-4)


@pytest.mark.published
@pytest.mark.parametrize(("share", "radius_um"), [(0.15, 330.7), (0.20, 364.0)])
def test_radius_from_energy_as_printed(share: float, radius_um: float) -> None:
    """Linz et al., Rep. Prog. Phys. 88 (2025) 088501: 15 to 20 % of 100 uJ go to the bubble."""
    found = radius_from_energy_m(share * 100e-6, OVERPRESSURE_PA)
    assert found == pytest.approx(radius_um * 1e-6, rel=1e-3)


@pytest.mark.exact
@pytest.mark.parametrize(("rate_khz", "radius_um"), [(20.0, 272.2), (50.0, 108.9), (100.0, 54.4)])
def test_radii_that_live_one_pulse_period(rate_khz: float, radius_um: float) -> None:
    found = radius_from_life_m(1e-3 / rate_khz, WATER_KG_PER_M3, OVERPRESSURE_PA)
    assert found == pytest.approx(radius_um * 1e-6, rel=1e-3)


@pytest.mark.exact
def test_radius_grows_as_the_cube_root_of_energy() -> None:
    energies = np.geomspace(1e-9, 1e-3, 7)
    radii = [radius_from_energy_m(e, OVERPRESSURE_PA) for e in energies]
    slopes = np.diff(np.log(radii)) / np.diff(np.log(energies))
    assert slopes == pytest.approx(1.0 / 3.0, abs=1e-12)


@pytest.mark.exact
@pytest.mark.parametrize("share", [0.95, 0.7, 0.4, 0.1])
def test_radius_curve_solves_rayleighs_equation(share: float) -> None:
    """dR/dt = -sqrt(2/3 (R_max^3/R^3 - 1)) in units of R_max sqrt(rho/dp), integrated by quadrature."""
    since_largest, _ = quad(lambda r: r**1.5 / math.sqrt(2.0 / 3.0 * (1.0 - r**3)), share, 1.0)
    phase = 0.5 + 0.5 * since_largest / COLLAPSE_FACTOR
    found = radius_share(np.array([phase, 1.0 - phase]))
    assert found == pytest.approx([share, share], abs=QUADRATURE)


@pytest.mark.exact
def test_radius_curve_ends_and_its_short_form() -> None:
    phase = np.linspace(0.0, 1.0, 101)
    assert radius_share(np.array([-0.1, 0.0, 0.5, 1.0, 1.1])) == pytest.approx([0.0, 0.0, 1.0, 0.0, 0.0])
    short = (1.0 - (2.0 * phase - 1.0) ** 2) ** 0.4
    assert np.max(np.abs(radius_share(phase) - short)) < APPROXIMATION
