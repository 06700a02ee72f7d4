"""Hold the bath's absorption to Beer and Lambert, the scales, and the cuvette."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from farface.kernel import Missing, OutOfRange
from farface.materials import absorber, liquid
from farface.optics.bath import (
    absorption_length_m,
    absorption_per_m,
    copper_mol_per_m3,
    cuvette_absorption_per_m,
    molar_absorption_m2_per_mol,
    require_dissolved,
    salt_kg,
    water_referenced_share,
)
from farface.records import Bath, Known

LASER_M = 1.064e-6
WATER_PER_M = liquid("water").absorption_per_m(LASER_M)
BATH = Bath(
    name="blue",
    invented=True,
    salt="copper_sulfate_pentahydrate",
    copper_mol_per_m3=500.0,
    acid_mol_per_m3=0.0,
    molar_absorption_m2_per_mol=Known(value=1.2, sd=0.1),
)


# checks.md row 25: eps 12 L/mol/cm at 0.5 mol/L; without ln 10 it would be 6.0.
@pytest.mark.exact
def test_copper_absorbs_by_the_natural_coefficient() -> None:
    of_copper_per_m = absorption_per_m(BATH, wavelength_m=LASER_M).value - WATER_PER_M
    assert of_copper_per_m == pytest.approx(1381.6, rel=1e-4)


@pytest.mark.exact
def test_standard_deviations_add_in_squares() -> None:
    known = absorption_per_m(BATH, wavelength_m=LASER_M)
    of_eps_per_m = math.log(10.0) * 500.0 * 0.1
    of_water_per_m = WATER_PER_M * liquid("water").absorption.sd_share
    assert known.sd == pytest.approx(math.hypot(of_eps_per_m, of_water_per_m), rel=1e-12)
    assert known.how == "computed"


def test_what_was_measured_stands_above_what_is_computed() -> None:
    measured = Known(value=950.0, sd=40.0, how="measured")
    assert absorption_per_m(replace(BATH, absorption_per_m=measured), wavelength_m=LASER_M) is measured


# MODEL.md: the default of 4.5 +/- 1.5 L/mol/cm at 1 mol/L means about 10 /cm, an absorption length of 1 mm.
@pytest.mark.from_memory
def test_the_default_bath_absorbs_within_a_millimetre() -> None:
    default = replace(
        BATH,
        copper_mol_per_m3=1000.0,
        molar_absorption_m2_per_mol=absorber("copper_sulfate").molar_absorption_m2_per_mol,
    )
    length_m = absorption_length_m(absorption_per_m(default, wavelength_m=LASER_M))
    assert length_m.value == pytest.approx(0.95e-3, rel=0.02)
    assert length_m.sd / length_m.value == pytest.approx(1.5 / 4.5, rel=0.03)


# checks.md row 37: 28 g/L of either form, in mol/L; the recipe's trap.
@pytest.mark.exact
@pytest.mark.parametrize(
    ("salt", "mol_per_l"), [("copper_sulfate_anhydrous", 0.1754), ("copper_sulfate_pentahydrate", 0.1121)]
)
def test_which_salt_was_weighed(salt, mol_per_l: float) -> None:
    made_mol_per_m3 = copper_mol_per_m3(salt=salt, mass_kg=28e-3, volume_m3=1e-3)
    assert made_mol_per_m3 / 1e3 == pytest.approx(mol_per_l, abs=1e-4)


@pytest.mark.exact
@given(
    salt=st.sampled_from(["copper_sulfate_anhydrous", "copper_sulfate_pentahydrate"]),
    copper=st.floats(1.0, 1270.0),
    volume_m3=st.floats(1e-5, 1e-2),
)
def test_weighing_undoes_the_recipe(salt, copper: float, volume_m3: float) -> None:
    mass_kg = salt_kg(salt=salt, copper_mol_per_m3=copper, volume_m3=volume_m3)
    again = copper_mol_per_m3(salt=salt, mass_kg=mass_kg, volume_m3=volume_m3)
    assert again == pytest.approx(copper, rel=1e-12)


@pytest.mark.exact
@given(copper=st.floats(50.0, 1200.0), eps=st.floats(0.1, 1.5), path_m=st.floats(1e-3, 1e-2))
def test_the_cuvette_returns_the_bath_that_was_in_it(copper: float, eps: float, path_m: float) -> None:
    filled = replace(BATH, copper_mol_per_m3=copper, molar_absorption_m2_per_mol=Known(value=eps))
    alpha_per_m = absorption_per_m(filled, wavelength_m=LASER_M).value
    passed = Known(value=math.exp(-(alpha_per_m - WATER_PER_M) * path_m), sd=0.01)
    read = cuvette_absorption_per_m(passed, path_m=path_m, wavelength_m=LASER_M)
    assert read.value == pytest.approx(alpha_per_m, rel=1e-9)
    assert read.how == "measured"
    back = molar_absorption_m2_per_mol(read, copper_mol_per_m3=copper, wavelength_m=LASER_M)
    assert back.value == pytest.approx(eps, rel=1e-9)


# checks.md row 24: a student's table gives 11.97 L/mol/cm at 807 nm, through 0, from four absorbances. Those
# are not printed there; here four are drawn on its slope, rounded to their last digit, and fitted again.
@pytest.mark.drawn_truth
def test_four_absorbances_at_807_nm_give_back_their_slope() -> None:
    molar = np.array([0.02, 0.04, 0.06, 0.08])
    absorbances = np.round(11.97 * molar, 3)
    read = [
        cuvette_absorption_per_m(Known(value=10.0**-a), path_m=1e-2, wavelength_m=807e-9) for a in absorbances
    ]
    of_copper = np.array([r.value for r in read]) - liquid("water").absorption_per_m(807e-9)
    slope_per_m = float(molar @ of_copper / (molar @ molar))
    eps = slope_per_m / math.log(10.0) / 100.0
    assert eps == pytest.approx(11.97, rel=1e-3)
    one = molar_absorption_m2_per_mol(read[3], copper_mol_per_m3=80.0, wavelength_m=807e-9)
    assert 10.0 * one.value == pytest.approx(11.97, rel=1e-3)


@pytest.mark.exact
def test_the_error_of_the_cuvette_is_that_of_the_logarithm() -> None:
    def at(share: float) -> float:
        return cuvette_absorption_per_m(Known(value=share), path_m=1e-3, wavelength_m=LASER_M).value

    read = cuvette_absorption_per_m(Known(value=0.4, sd=0.01), path_m=1e-3, wavelength_m=LASER_M)
    slope_per_m = (at(0.401) - at(0.399)) / 0.002
    of_water_per_m = WATER_PER_M * liquid("water").absorption.sd_share
    assert read.sd == pytest.approx(math.hypot(0.01 * slope_per_m, of_water_per_m), rel=1e-4)


# A cuvette of n 1.45: an inner wall reflects 0.0337 of the light to air, 0.0020 to water.
@pytest.mark.exact
def test_reading_against_the_empty_cuvette() -> None:
    water = liquid("water")
    dry, wet = (
        ((1.45 - 1.0) / 2.45) ** 2,
        ((1.45 - water.index(LASER_M)) / (1.45 + water.index(LASER_M))) ** 2,
    )
    alpha_per_m, path_m = 700.0, 2e-3
    against_empty = ((1.0 - wet) / (1.0 - dry)) ** 2 * math.exp(-alpha_per_m * path_m)
    against_water = water_referenced_share(
        Known(value=against_empty), path_m=path_m, wavelength_m=LASER_M, index_cuvette=1.45
    )
    read = cuvette_absorption_per_m(against_water, path_m=path_m, wavelength_m=LASER_M)
    assert read.value == pytest.approx(alpha_per_m, rel=1e-9)


@pytest.mark.parametrize("share", [0.0, 1.0, -0.1, 1.2, float("nan")])
def test_a_transmission_that_no_bath_has_is_refused(share: float) -> None:
    with pytest.raises(OutOfRange, match="a bath lets through more than 0 and less than 1"):
        cuvette_absorption_per_m(Known(value=share), path_m=1e-2, wavelength_m=LASER_M)


@pytest.mark.parametrize("copper", [0.0, -1.0, 1271.0, float("nan")])
def test_what_does_not_dissolve_is_refused(copper: float) -> None:
    with pytest.raises(OutOfRange, match=r"water at 20 C dissolves 1\.27 mol/L of it \(salt_handbook\)"):
        require_dissolved(copper)


def test_other_wavelengths_and_salts_are_refused() -> None:
    with pytest.raises(OutOfRange, match="kedenburg2012 covers"):
        absorption_per_m(BATH, wavelength_m=1.55e-6)
    with pytest.raises(Missing, match="copper_sulfate_anhydrous"):
        copper_mol_per_m3(salt="table_salt", mass_kg=1e-2, volume_m3=1e-4)  # type: ignore[arg-type]
