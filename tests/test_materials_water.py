import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from farface.kernel import OutOfRange
from farface.materials.water_liquid import water_by_temperature
from farface.materials.water_saturation import (
    latent_j_per_kg,
    liquid_density_kg_per_m3,
    pressure_pa,
    pressure_slope_pa_per_k,
    surface_tension_n_per_m,
    vapour_density_kg_per_m3,
)


@pytest.mark.exact
def test_saturation_at_the_boiling_point_as_printed() -> None:
    """IAPWS-95 at 373.15 K: 101.42 kPa, heat of evaporation 2256.4 kJ/kg."""
    assert f"{pressure_pa(373.15) / 1e3:.2f}" == "101.42"
    # What the auxiliary equation for the vapour's density is good for.
    assert latent_j_per_kg(373.15) / 1e3 == pytest.approx(2256.4, rel=2e-4)


@pytest.mark.from_memory
@pytest.mark.parametrize(
    ("temperature_k", "pressure", "liquid", "vapour"),
    [
        (273.16, "611.657", "999.789", "0.00485426"),
        (373.1243, "101325", "958.365", "0.597586"),
        (647.096, "22064000", "322", "322"),
    ],
)
def test_saturation_meets_its_verification_table(
    temperature_k: float, pressure: str, liquid: str, vapour: str
) -> None:
    """The values with which IAPWS SR1-86 lets one check a program, quoted from memory."""
    found = [f(temperature_k) for f in (pressure_pa, liquid_density_kg_per_m3, vapour_density_kg_per_m3)]
    assert found == pytest.approx([float(number) for number in (pressure, liquid, vapour)], rel=2e-6)


@pytest.mark.from_memory
@pytest.mark.parametrize(("celsius", "printed"), [(20.0, "72.75"), (100.0, "58.91"), (300.0, "14.36")])
def test_surface_tension_as_tabulated(celsius: float, printed: str) -> None:
    """The table of IAPWS R1-76 in mN/m, quoted from memory."""
    found = surface_tension_n_per_m(273.15 + celsius) * 1e3
    assert found == pytest.approx(float(printed), abs=0.02)


@given(temperature_k=st.floats(274.0, 645.0))
def test_the_slope_is_that_of_the_pressure(temperature_k: float) -> None:
    step = 1e-3
    by_difference = (pressure_pa(temperature_k + step) - pressure_pa(temperature_k - step)) / (2.0 * step)
    assert pressure_slope_pa_per_k(temperature_k) == pytest.approx(by_difference, rel=1e-6)


def test_beyond_the_critical_point_is_refused() -> None:
    with pytest.raises(OutOfRange, match=r"647\.096"):
        pressure_pa(650.0)


@pytest.mark.exact
def test_heat_up_to_575_kelvin_as_printed() -> None:
    """IAPWS-95: 1271.4 kJ/kg from 20 C to saturated liquid at 575 K.

    The heat capacity under constant pressure, followed along the line of saturation, misses the work of the
    rising pressure, 1.3e-3.
    """
    water = water_by_temperature("saturated")
    heat = water.at("heat_j_per_kg", 575.0) - water.at("heat_j_per_kg", 293.15)
    assert heat / 1e3 == pytest.approx(1271.4, rel=2e-3)


@pytest.mark.exact
def test_the_two_states_are_one_at_the_boiling_point() -> None:
    superheated, saturated = water_by_temperature("superheated"), water_by_temperature("saturated")
    for quantity in ("density_kg_per_m3", "heat_capacity_j_per_kg_k", "conductivity_w_per_m_k"):
        assert superheated.at(quantity, 373.124) == pytest.approx(saturated.at(quantity, 373.124), rel=1e-5)


@pytest.mark.exact
def test_the_table_meets_the_density_of_the_other_equation() -> None:
    """Auxiliary equation and table come from different equations; the former states 0.03 % near 575 K."""
    temperatures_k = np.linspace(274.0, 589.0, 60)
    table = water_by_temperature("saturated").at("density_kg_per_m3", temperatures_k)
    assert table == pytest.approx([liquid_density_kg_per_m3(t) for t in temperatures_k], rel=4e-4)


@pytest.mark.exact
def test_heat_is_the_integral_of_heat_capacity() -> None:
    water = water_by_temperature()
    steps = np.diff(water.temperature_k)
    capacity = water.heat_capacity_j_per_kg_k
    trapezoids = np.concatenate([[0.0], np.cumsum(0.5 * steps * (capacity[1:] + capacity[:-1]))])
    # Trapezoids over half a kelvin, where the heat capacity turns up towards the spinodal.
    assert water.heat_j_per_kg == pytest.approx(trapezoids, rel=1e-5, abs=1.0)


@pytest.mark.exact
@pytest.mark.parametrize("state", ["superheated", "saturated"])
def test_between_printed_temperatures_a_second_implementation_agrees(state: str) -> None:
    """CoolProp's IAPWS-95 and conductivity, off the printed points."""
    props = pytest.importorskip("CoolProp.CoolProp")
    water = water_by_temperature(state)
    for temperature_k in (288.0, 365.0, 441.7, 517.3, 572.4):
        saturated = {key: props.PropsSI(key, "T", temperature_k, "Q", 0, "Water") for key in "DCL"}
        found = {
            "D": water.at("density_kg_per_m3", temperature_k),
            "C": water.at("heat_capacity_j_per_kg_k", temperature_k),
            "L": water.at("conductivity_w_per_m_k", temperature_k),
        }
        if state == "superheated":
            pressure = props.PropsSI("P", "T|liquid", temperature_k, "D", float(found["D"]), "Water")
            assert pressure == pytest.approx(101325.0, abs=2e4)  # 2e-5 of the density
        else:
            assert found == pytest.approx(saturated, rel=4e-4)


def test_beyond_the_table_is_refused() -> None:
    with pytest.raises(OutOfRange, match="590"):
        water_by_temperature().at("density_kg_per_m3", [300.0, 595.0])


# checks.md row 28: a point of the IAPWS-95 release's table of computer-program verification.
@pytest.mark.published
def test_the_library_behind_the_table_meets_the_release() -> None:
    props = pytest.importorskip("CoolProp.CoolProp")
    at = ("T", 500.0, "D", 838.025, "Water")
    assert props.PropsSI("P", *at) / 1e6 == pytest.approx(10.0003858, rel=1e-7)
    assert props.PropsSI("A", *at) == pytest.approx(1271.28441, rel=1e-7)
