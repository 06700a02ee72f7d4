import pytest

from farface.heat.closed import (
    accumulation_sum,
    diffusion_length_m,
    pulse_heating_k,
    share_to_glass,
    steady_gaussian_rise_k,
)

WATER_DENSITY_KG_PER_M3 = 998.2
# Printed to 2.394 K at 10 /cm with water at 20 C.
WATER_HEAT_CAPACITY_J_PER_KG_K = 4184.0


@pytest.mark.exact
def test_liquid_heating_as_printed() -> None:
    found = pulse_heating_k(
        absorption_per_m=1000.0,
        fluence_j_per_m2=1e4,
        density_kg_per_m3=WATER_DENSITY_KG_PER_M3,
        heat_capacity_j_per_kg_k=WATER_HEAT_CAPACITY_J_PER_KG_K,
    )
    assert found == pytest.approx(2.394, rel=1e-3)


@pytest.mark.exact
def test_effusivity_split_as_printed() -> None:
    """Glass 2500 kg/m3, 800 J/kg/K, 1 W/m/K against water at 0.598 W/m/K."""
    glass = (2500.0 * 800.0 * 1.0) ** 0.5
    water = (WATER_DENSITY_KG_PER_M3 * WATER_HEAT_CAPACITY_J_PER_KG_K * 0.598) ** 0.5
    found = share_to_glass(
        glass_effusivity_j_per_m2_k_sqrt_s=glass, liquid_effusivity_j_per_m2_k_sqrt_s=water
    )
    assert found == pytest.approx(0.4723, rel=1e-3)


@pytest.mark.from_memory
def test_steady_gaussian_source_as_printed() -> None:
    """Carslaw and Jaeger 1959, formula from memory; 1 W, w 20 um, 1 W/m/K."""
    found = steady_gaussian_rise_k(power_w=1.0, conductivity_w_per_m_k=1.0, radius_m=20e-6)
    assert found == pytest.approx(19947.0, rel=1e-4)


@pytest.mark.published
@pytest.mark.parametrize(
    ("pulses", "dimensions", "printed"),
    [(100, 3, 2.41287), (100, 2, 5.18738), (100, 1, 18.5896), (10_000_000, 3, 2.61238 - 6.3e-4)],
)
def test_accumulation_sums_as_printed(pulses: int, dimensions: int, printed: float) -> None:
    """Weber et al., Opt. Express 22 (2014) 11312; the last is the infinite sum less its tail 2/sqrt(N)."""
    assert accumulation_sum(pulses, dimensions=dimensions) == pytest.approx(printed, rel=1e-5)


@pytest.mark.exact
def test_diffusion_length_as_printed() -> None:
    assert diffusion_length_m(diffusivity_m2_per_s=0.5e-6, time_s=100e-9) == pytest.approx(447.2e-9, rel=1e-4)
