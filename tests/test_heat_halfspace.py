import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import erfc

from farface.heat.halfspace import Pair, response

# The inversion's own error, as a share of T0: 32 Talbot points in double precision.
INVERSION = 2e-8
GLASS_WATER = Pair(diffusivity_ratio=0.29, conductivity_ratio=0.6)
ONE_MEDIUM = Pair(diffusivity_ratio=1.0, conductivity_ratio=1.0)


@pytest.mark.exact
@pytest.mark.parametrize("tau", [1e-6, 1e-3, 0.1, 1.0, 30.0, 1e3])
@pytest.mark.parametrize("zeta", [-0.5, 0.0, 0.1, 1.0, 5.0])
@pytest.mark.parametrize("rho", [0.0, 0.7, 1.5])
def test_one_medium_half_filled_with_heat_is_a_gaussian_times_an_error_function(
    tau: float, zeta: float, rho: float
) -> None:
    """With equal media and no decay over depth, radius and depth separate."""
    spread = 1.0 + 8.0 * tau
    expected = np.exp(-2.0 * rho**2 / spread) / spread * 0.5 * erfc(-zeta / np.sqrt(4.0 * tau))
    found = response(ONE_MEDIUM, alpha_w=1e-10, tau=tau, zeta=zeta, rho=rho)
    assert found == pytest.approx(expected, abs=INVERSION)


@pytest.mark.exact
@pytest.mark.parametrize("alpha_w", [0.02, 0.5, 2.0])
def test_one_medium_with_decay_matches_the_shifted_error_function(alpha_w: float) -> None:
    """exp(-a z) on z > 0 spreads to exp(a^2 tau - a z) erfc((2 a tau - z) / sqrt(4 tau)) / 2."""
    tau, zeta = 0.3, 0.8
    axial = 0.5 * np.exp(alpha_w**2 * tau - alpha_w * zeta)
    axial *= erfc((2.0 * alpha_w * tau - zeta) / np.sqrt(4.0 * tau))
    found = response(ONE_MEDIUM, alpha_w=alpha_w, tau=tau, zeta=zeta)
    assert found == pytest.approx(axial / (1.0 + 8.0 * tau), abs=INVERSION)


@pytest.mark.exact
def test_right_after_the_pulse_the_face_stands_between_the_two_by_effusivity() -> None:
    ratio = GLASS_WATER.effusivity_ratio
    found = response(GLASS_WATER, alpha_w=0.02, tau=1e-9, zeta=0.0)
    # The face departs from the split as sqrt(tau).
    assert found == pytest.approx(ratio / (1.0 + ratio), abs=1e-5)


@pytest.mark.exact
def test_heat_is_conserved() -> None:
    """Temperature times heat capacity, summed over both half-spaces on the axis of an infinite spot.

    As w grows the radius drops out; in units of w that is tau -> 0 at fixed zeta / sqrt(tau).
    """
    tau, alpha_w = 1e-4, 40.0
    zeta = np.linspace(-0.25, 0.4, 5201)
    rise = response(GLASS_WATER, alpha_w=alpha_w, tau=tau, zeta=zeta) * (1.0 + 8.0 * tau)
    # Volume heat capacity of glass over that of liquid: (k_g / D_g) / (k_l / D_l).
    glass_capacity = GLASS_WATER.diffusivity_ratio / GLASS_WATER.conductivity_ratio
    stored = np.trapezoid(np.where(zeta < 0.0, glass_capacity, 1.0) * rise, zeta)
    # Trapezoids over 1.25e-4 and the jump of capacity at the face.
    assert stored * alpha_w == pytest.approx(1.0, abs=3e-3)


@pytest.mark.exact
def test_flux_is_continuous_at_the_face() -> None:
    step = 1e-4
    tau = 0.05
    liquid = response(GLASS_WATER, alpha_w=0.1, tau=tau, zeta=[0.0, step, 2 * step])
    glass = response(GLASS_WATER, alpha_w=0.1, tau=tau, zeta=[0.0, -step, -2 * step])
    slope_liquid = (-3 * liquid[0] + 4 * liquid[1] - liquid[2]) / (2 * step)
    slope_glass = (3 * glass[0] - 4 * glass[1] + glass[2]) / (2 * step)
    assert GLASS_WATER.conductivity_ratio * slope_liquid == pytest.approx(slope_glass, rel=1e-4)


@given(tau=st.floats(1e-5, 1e3), zeta=st.floats(0.0, 10.0), alpha_w=st.floats(1e-3, 1.0))
def test_rise_stays_between_nothing_and_what_the_pulse_left(tau: float, zeta: float, alpha_w: float) -> None:
    found = float(response(GLASS_WATER, alpha_w=alpha_w, tau=tau, zeta=zeta))
    assert -INVERSION <= found <= 1.0 + INVERSION


@pytest.mark.exact
def test_a_second_implementation_by_marching_agrees() -> None:
    """One-dimensional explicit finite volumes, radius left out, refined until they agree."""
    errors = []
    for cells in (200, 400):
        errors.append(abs(_marched(cells) - _one_dimensional(0.02, 0.05)))
    assert errors[1] < 2e-3
    # The scheme is at least first order at the joint.
    assert errors[1] < 0.7 * errors[0]


def _one_dimensional(tau: float, zeta: float) -> float:
    return float(response(GLASS_WATER, alpha_w=0.5, tau=tau * 1e-6, zeta=zeta * 1e-3)) * (1 + 8e-6 * tau)


def _marched(cells: int) -> float:
    """March both half-spaces in units where the depth 1 is 1e-3 spot radii and the time 1e-6."""
    pair, depth = GLASS_WATER, 2.0
    dz = depth / cells
    z = (np.arange(-cells, cells) + 0.5) * dz
    liquid = z > 0
    capacity = np.where(liquid, 1.0, pair.diffusivity_ratio / pair.conductivity_ratio)
    conductivity = np.where(liquid, 1.0, 1.0 / pair.conductivity_ratio)
    between = 2.0 / (1.0 / conductivity[1:] + 1.0 / conductivity[:-1])
    rise = np.where(liquid, np.exp(-0.5e-3 * z), 0.0)
    fastest = (conductivity / capacity).max()
    steps = int(np.ceil(0.02 / (0.4 * dz**2 / fastest)))
    dt = 0.02 / steps
    for _ in range(steps):
        flux = between * np.diff(rise) / dz
        rise[1:-1] += dt / dz * np.diff(flux) / capacity[1:-1]
    return float(np.interp(0.05, z, rise))
