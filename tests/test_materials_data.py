"""Hold every material file to the check values it carries, and the records to what they say of themselves."""

import math
import tomllib
from collections.abc import Mapping
from importlib.resources import files

import pytest

from farface.kernel import Missing, OutOfRange
from farface.materials import Absorber, Glass, Liquid, absorber, glass, glass_names, liquid
from farface.materials.reader import absorber_names, checks, liquid_names
from farface.materials.schema import Check

FOLDERS: Mapping[str, tuple[tuple[str, ...], type]] = {
    "glasses": (glass_names(), Glass),
    "liquids": (liquid_names(), Liquid),
    "absorbers": (absorber_names(), Absorber),
}
FILES = [(folder, name) for folder, (names, _) in FOLDERS.items() for name in names]
CHECKS = [(folder, name, check) for folder, name in FILES for check in checks(folder, name)]
SOURCES = tomllib.loads((files("farface") / "sources.toml").read_text("utf-8"))
MARKS = {"read": pytest.mark.published, "exact": pytest.mark.exact, "memory": pytest.mark.from_memory}
READ = {"glasses": glass, "liquids": liquid, "absorbers": absorber}

MIDDLE_IR_M = 1.064e-6


def half_last_digit(printed: str) -> float:
    """Give half a unit of the last digit of a number as it was printed: 0.5 for "995", 5e-6 for "1.51291"."""
    return 0.5 * 10.0 ** -len(printed.partition(".")[2])


def ask(record: Glass | Liquid | Absorber, check: Check) -> float:
    """Ask a record for what a check value says."""
    answer = getattr(record, check.quantity)
    where = [argument for argument in (check.wavelength_m, check.form) if argument is not None]
    answer = answer(*where) if where else answer
    return answer if isinstance(answer, float) else answer.value


@pytest.mark.parametrize(
    ("folder", "name", "check"),
    [
        pytest.param(
            *case, marks=MARKS[SOURCES[case[2].source]["status"]], id=f"{case[1]}-{case[2].quantity}"
        )
        for case in CHECKS
    ],
)
def test_a_file_agrees_with_its_own_check_values(folder: str, name: str, check: Check) -> None:
    expected = float(check.printed)
    tolerance = max(half_last_digit(check.printed), (check.within_share or 0.0) * abs(expected))
    assert ask(READ[folder](name), check) == pytest.approx(expected, abs=tolerance)


@pytest.mark.parametrize(("folder", "name"), FILES)
def test_a_file_has_three_check_values_spread_over_its_range(folder: str, name: str) -> None:
    asked = {(check.quantity, check.wavelength_m, check.form) for check in checks(folder, name)}
    assert len(asked) >= 3
    if folder == "absorbers":
        return
    at_m = [check.wavelength_m for check in checks(folder, name) if check.wavelength_m]
    assert max(at_m) / min(at_m) > 1.5, "from the visible to the near infrared"


@pytest.mark.parametrize("check", [check for *_, check in CHECKS if check.within_share])
def test_a_wider_tolerance_says_why(check: Check) -> None:
    assert check.why


@pytest.mark.parametrize(("folder", "name"), FILES)
def test_a_record_names_a_source_for_each_of_its_numbers(folder: str, name: str) -> None:
    record = READ[folder](name)
    numbers = [
        field for field in type(record).__dataclass_fields__ if isinstance(getattr(record, field), float)
    ]
    assert numbers
    for field in numbers:
        assert record.source(field)
        assert record.known(field).value == getattr(record, field)


@pytest.mark.parametrize("name", glass_names())
def test_a_glass_is_clear_at_the_laser_and_has_a_plausible_make(name: str) -> None:
    record = glass(name)
    assert 1.4 < record.index(MIDDLE_IR_M) < 1.6
    assert 0.0 < record.absorption_per_m(MIDDLE_IR_M) < 100.0
    assert record.source("index") and record.source("absorption")
    assert 0.0 < record.poisson < 0.5
    assert record.softening_k > 900.0


# checks.md row 34: E alpha / (1 - nu), the stress of a kelvin held in, in MPa/K.
@pytest.mark.exact
@pytest.mark.parametrize(("name", "printed"), [("soda_lime_slide", "0.831"), ("fused_silica", "0.0477")])
def test_stress_of_a_kelvin(name: str, printed: str) -> None:
    record = glass(name)
    stress_pa_per_k = record.young_pa * record.expansion_per_k / (1.0 - record.poisson)
    assert stress_pa_per_k / 1e6 == pytest.approx(float(printed), abs=half_last_digit(printed))


# checks.md row 35: the flaw that breaks at 50 MPa, Griffith with Y = 1.12, in um.
@pytest.mark.exact
def test_flaw_that_the_strength_of_a_slide_means() -> None:
    slide = glass("soda_lime_slide")
    flaw_m = (slide.toughness_pa_sqrt_m / (1.12 * slide.strength_pa)) ** 2 / math.pi
    assert flaw_m == pytest.approx(57.1e-6, rel=1e-3)


# checks.md row 43: heat made at the joint of slide and water parts as their effusivities.
@pytest.mark.exact
def test_effusivities_of_slide_and_water() -> None:
    slide_e = glass("soda_lime_slide").effusivity_j_per_m2_k_sqrt_s
    water_e = liquid("water").effusivity_j_per_m2_k_sqrt_s
    assert slide_e / (slide_e + water_e) == pytest.approx(0.4723, abs=5e-5)


# checks.md row 26: 1 J/cm2 absorbed over 1 mm of water warms its face by 2.394 K.
@pytest.mark.exact
def test_water_warms_by_its_heat_capacity() -> None:
    water = liquid("water")
    rise_k = 1e3 * 1e4 / (water.density_kg_per_m3 * water.heat_capacity_j_per_kg_k)
    assert rise_k == pytest.approx(2.394, abs=1e-3)


@pytest.mark.exact
def test_diffusivity_and_effusivity_are_of_one_conductivity() -> None:
    water = liquid("water")
    again_w_per_m_k = water.effusivity_j_per_m2_k_sqrt_s * math.sqrt(water.diffusivity_m2_per_s)
    assert again_w_per_m_k == pytest.approx(water.conductivity_w_per_m_k, rel=1e-12)


# checks.md row 19: 0.144 to 0.151 /cm in three published sets, 0.61 /cm from a coarse table.
@pytest.mark.published
def test_water_absorbs_at_the_laser_as_measured() -> None:
    assert 14.4 <= liquid("water").absorption_per_m(MIDDLE_IR_M) <= 15.1


# checks.md row 36: shares of mass that the pentahydrate loses on heating, in %.
@pytest.mark.exact
@pytest.mark.parametrize(
    ("lost", "printed"), [(5 * 18.015e-3, "36.08"), (80.057e-3, "32.06"), (63.546e-3 + 15.999e-3, "31.86")]
)
def test_copper_sulfate_is_made_of_its_parts(lost: float, printed: str) -> None:
    whole = absorber("copper_sulfate").molar_mass_kg_per_mol("copper_sulfate_pentahydrate")
    assert 100.0 * lost / whole == pytest.approx(float(printed), abs=half_last_digit(printed))


def test_molar_absorption_holds_near_the_laser_only() -> None:
    copper = absorber("copper_sulfate")
    assert copper.decadic_m2_per_mol(MIDDLE_IR_M) == copper.molar_absorption_m2_per_mol
    with pytest.raises(
        OutOfRange, match=r"wavelength is 0\.532 um, but copper_absorption_guess covers 1\.03 to"
    ):
        copper.decadic_m2_per_mol(0.532e-6)


def test_an_unknown_name_or_form_names_those_that_exist() -> None:
    with pytest.raises(
        Missing, match="borosilicate_low_expansion, borosilicate_thin_sheet, fused_silica, soda"
    ):
        glass("window")
    with pytest.raises(Missing, match="which are water"):
        liquid("oil")
    with pytest.raises(Missing, match="copper_sulfate, phosphoric_acid"):
        absorber("ink")
    with pytest.raises(Missing, match="copper_sulfate_anhydrous, copper_sulfate_pentahydrate"):
        absorber("copper_sulfate").molar_mass_kg_per_mol("blue")
    with pytest.raises(Missing, match="has no field"):
        glass("fused_silica").source("colour")
    with pytest.raises(Missing, match="no single number"):
        glass("fused_silica").known("index")


def test_where_a_value_holds_is_said() -> None:
    assert liquid("water").holds("density_kg_per_m3") == "20 C, 1 atm"
