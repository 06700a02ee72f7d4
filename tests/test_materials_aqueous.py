"""Hold density, viscosity and solubility of solutions to printed values, another library, and range."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from farface.kernel import Missing, OutOfRange
from farface.materials import absorber
from farface.materials.aqueous import (
    SOLUTES,
    ZERO_CELSIUS_K,
    density_kg_per_m3,
    solution_table,
    viscosity_pa_s,
)
from farface.materials.solubility import require_soluble, saturation_mol_per_m3

SAME_FORMULA = 1e-11  # relative: two implementations of one formula, rounding of any processor alone
SALT, ACID = "copper_sulfate", "phosphoric_acid"


def kelvin(celsius: float) -> float:
    return celsius + ZERO_CELSIUS_K


@pytest.mark.from_memory
@pytest.mark.parametrize("name", SOLUTES)
def test_each_solution_meets_the_check_values_of_its_file(name: str) -> None:
    checks = solution_table(name)["checks"]
    assert len(checks) >= 3
    for check in checks:
        found = density_kg_per_m3(
            {name: check["mass_share"]}, temperature_k=kelvin(check["temperature_celsius"])
        )
        assert found == pytest.approx(float(check["printed"]), rel=check["within_share"]), check["why"]


# Evaluated by the general-purpose library thermo 0.6.1, which ships the same coefficients (laliberte2009).
BY_THERMO = [
    ({SALT: 0.04}, 20.0, 1039.824754626066, 0.0012002927339224247),
    ({SALT: 0.10}, 20.0, 1107.4958719579045, 0.001572495706361608),
    ({SALT: 0.16}, 20.0, 1181.2862410677815, 0.0020504544180880023),
    ({SALT: 0.28}, 50.0, 1320.0211026465122, 0.0012334729571451257),
    ({ACID: 0.10}, 20.0, 1053.725957284115, 0.0013758456938773994),
    ({ACID: 0.40}, 20.0, 1255.0087761115522, 0.0038971054380346924),
    ({SALT: 0.13, ACID: 0.042}, 20.0, 1170.705213759611, 0.002046584483009548),
]


@pytest.mark.exact
@pytest.mark.parametrize(("shares", "celsius", "density", "viscosity"), BY_THERMO)
def test_the_formula_agrees_with_another_implementation(
    shares: dict[str, float], celsius: float, density: float, viscosity: float
) -> None:
    assert density_kg_per_m3(shares, temperature_k=kelvin(celsius)) == pytest.approx(
        density, rel=SAME_FORMULA
    )
    assert viscosity_pa_s(shares, temperature_k=kelvin(celsius)) == pytest.approx(viscosity, rel=SAME_FORMULA)


@pytest.mark.exact
@pytest.mark.parametrize(("shares", "celsius", "density", "viscosity"), BY_THERMO)
def test_the_printed_values_are_still_those_of_the_other_library(
    shares: dict[str, float], celsius: float, density: float, viscosity: float
) -> None:
    electrochem = pytest.importorskip("thermo.electrochem")
    numbers = {SALT: "7758-98-7", ACID: "7664-38-2"}
    given_to = (kelvin(celsius), list(shares.values()), [numbers[name] for name in shares])
    assert electrochem.Laliberte_density(*given_to) == pytest.approx(density, rel=SAME_FORMULA)
    assert electrochem.Laliberte_viscosity(*given_to) == pytest.approx(viscosity, rel=SAME_FORMULA)


# chemicals 1.5.2 prints 159.6086, 249.685 and 97.995182 g/mol from its own atomic masses.
@pytest.mark.exact
@pytest.mark.parametrize(
    ("solute", "form", "g_per_mol"),
    [
        (SALT, "copper_sulfate_anhydrous", 159.6086),
        (SALT, "copper_sulfate_pentahydrate", 249.685),
        (ACID, "phosphoric_acid", 97.995182),
    ],
)
def test_molar_masses_agree_with_another_table(solute: str, form: str, g_per_mol: float) -> None:
    abridged = 1e-4  # relative: atomic weights abridged to five digits
    assert 1e3 * absorber(solute).molar_mass_kg_per_mol(form) == pytest.approx(g_per_mol, rel=abridged)


# Handbook values of water, from memory: 998.2 kg/m3 and 1.002 mPa s at 20 C.
@pytest.mark.from_memory
def test_water_alone_is_water() -> None:
    assert density_kg_per_m3({}, temperature_k=kelvin(20.0)) == pytest.approx(998.2, abs=0.05)
    assert viscosity_pa_s({}, temperature_k=kelvin(20.0)) == pytest.approx(1.002e-3, rel=2e-3)


@pytest.mark.exact
@given(share=st.floats(0.0, 0.28), celsius=st.floats(10.0, 60.0))
def test_density_has_no_jump_where_the_apparent_density_has_its_pole(share: float, celsius: float) -> None:
    step = 1e-6
    at = kelvin(celsius)
    here, there = (density_kg_per_m3({SALT: s}, temperature_k=at) for s in (share, share + step))
    assert 0.0 < there - here < 2000.0 * step


@pytest.mark.parametrize(
    ("quantity", "shares", "celsius", "words"),
    [
        (density_kg_per_m3, {SALT: 0.1}, 9.0, "laliberte2009 covers 10 to 60 C"),
        (density_kg_per_m3, {SALT: 0.1}, 61.0, "laliberte2009 covers 10 to 60 C"),
        (density_kg_per_m3, {SALT: 0.29}, 50.0, "up to 28.4 %"),
        (density_kg_per_m3, {SALT: 0.2, ACID: 0.1}, 20.0, "30 % by mass is dissolved"),
        (density_kg_per_m3, {ACID: 0.9}, 20.0, "up to 85 %"),
        (viscosity_pa_s, {ACID: 0.1}, 19.0, "laliberte2009 covers 20 to 25 C"),
        (viscosity_pa_s, {SALT: 0.1}, 14.0, "laliberte2009 covers 15 to 60 C"),
        (density_kg_per_m3, {SALT: -0.1}, 20.0, "between 0 and 100 %"),
        (density_kg_per_m3, {SALT: 0.6, ACID: 0.4}, 20.0, "water must be left"),
        (density_kg_per_m3, {}, 120.0, "liquid range"),
    ],
)
def test_outside_the_source_is_refused(
    quantity, shares: dict[str, float], celsius: float, words: str
) -> None:
    with pytest.raises(OutOfRange, match=words):
        quantity(shares, temperature_k=kelvin(celsius))


def test_an_unknown_solute_is_named() -> None:
    with pytest.raises(Missing, match='"sugar" has no data'):
        density_kg_per_m3({"sugar": 0.1}, temperature_k=kelvin(20.0))


# 1.27 mol/L at 20 C, from memory.
@pytest.mark.from_memory
def test_saturation_is_what_the_handbook_says_at_20_c_and_grows_with_warmth() -> None:
    assert saturation_mol_per_m3(kelvin(20.0)) == pytest.approx(1270.0, abs=5.0)
    course = [saturation_mol_per_m3(kelvin(celsius)) for celsius in range(10, 41)]
    assert course == sorted(course)
    assert course[0] < 1100.0


@pytest.mark.parametrize(("celsius", "molar"), [(20.0, 1.28), (10.0, 1.2), (20.0, 0.0), (20.0, math.nan)])
def test_what_does_not_dissolve_in_this_room_is_refused(celsius: float, molar: float) -> None:
    with pytest.raises(OutOfRange, match="salt_handbook, from memory"):
        require_soluble(1e3 * molar, temperature_k=kelvin(celsius))
    require_soluble(1.2e3, temperature_k=kelvin(20.0))


@pytest.mark.parametrize("celsius", [5.0, 45.0])
def test_a_room_outside_the_table_is_refused(celsius: float) -> None:
    with pytest.raises(OutOfRange, match="from 10 to 40 C"):
        saturation_mol_per_m3(kelvin(celsius))
