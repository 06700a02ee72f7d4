"""Hold the recipe to its molarities, to the masses that go in, and to what must be refused."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from farface.kernel import LN10, OutOfRange
from farface.materials import absorber, liquid
from farface.materials.aqueous import ZERO_CELSIUS_K
from farface.optics.bath import copper_mol_per_m3
from farface.prepare.recipe import (
    WantedBath,
    acid_mol_per_m3,
    bath_density_kg_per_m3,
    mixing_steps,
    work_out,
)
from farface.prepare.wanted import wanted_copper_mol_per_m3
from farface.prepare.wear import HOUR_S, wear
from farface.records import Bath, Known

ROOM_K = 20.0 + ZERO_CELSIUS_K
LASER_M = 1.064e-6
WANTED = WantedBath(
    salt="copper_sulfate_pentahydrate",
    copper_mol_per_m3=1000.0,
    acid_mol_per_m3=500.0,
    acid_strength_share=0.85,
    volume_m3=50e-6,
    temperature_k=ROOM_K,
)
BATH = Bath(
    name="blue",
    invented=True,
    salt="copper_sulfate_pentahydrate",
    copper_mol_per_m3=1000.0,
    acid_mol_per_m3=500.0,
    molar_absorption_m2_per_mol=Known(value=0.45, sd=0.15),
    volume_m3=50e-6,
)


# A published recipe of 28 g/L (Xie 2020) is two baths, by the form of the salt.
@pytest.mark.exact
@pytest.mark.parametrize(
    ("salt", "mol_per_l"), [("copper_sulfate_anhydrous", 0.1754), ("copper_sulfate_pentahydrate", 0.1121)]
)
def test_28_g_per_l_is_two_baths(salt, mol_per_l: float) -> None:
    found = copper_mol_per_m3(salt=salt, mass_kg=28e-3, volume_m3=1e-3)
    assert found == pytest.approx(1e3 * mol_per_l, rel=1e-3)
    back = work_out(replace(WANTED, salt=salt, copper_mol_per_m3=found, volume_m3=1e-3))
    assert back.salt_kg == pytest.approx(28e-3, rel=1e-12)


# The usual strong acid: 85 % by mass, 14.6 mol/L, 1.6845 g/cm3 at 25 C.
@pytest.mark.from_memory
def test_the_strong_acid_is_14_6_molar() -> None:
    found = acid_mol_per_m3(strength_share=0.85, temperature_k=25.0 + ZERO_CELSIUS_K)
    assert found == pytest.approx(14.6e3, abs=0.05e3)


@pytest.mark.exact
@given(
    copper=st.floats(1.0, 1200.0),
    acid=st.floats(0.0, 1000.0),
    strength=st.floats(0.5, 1.0),
    anhydrous=st.booleans(),
)
def test_what_goes_in_adds_up_to_the_bath(
    copper: float, acid: float, strength: float, anhydrous: bool
) -> None:
    salt = "copper_sulfate_anhydrous" if anhydrous else "copper_sulfate_pentahydrate"
    recipe = work_out(
        replace(
            WANTED, salt=salt, copper_mol_per_m3=copper, acid_mol_per_m3=acid, acid_strength_share=strength
        )
    )
    whole = recipe.salt_kg + recipe.acid_kg + recipe.water_kg
    assert whole == pytest.approx(recipe.density_kg_per_m3 * WANTED.volume_m3, rel=1e-9)
    anhydrous_kg = (
        copper
        * WANTED.volume_m3
        * absorber("copper_sulfate").molar_mass_kg_per_mol("copper_sulfate_anhydrous")
    )
    assert recipe.mass_shares["copper_sulfate"] * whole == pytest.approx(anhydrous_kg, rel=1e-9)
    pure_acid_kg = (
        acid * WANTED.volume_m3 * absorber("phosphoric_acid").molar_mass_kg_per_mol("phosphoric_acid")
    )
    assert recipe.acid_kg * strength == pytest.approx(pure_acid_kg, rel=1e-9)


@pytest.mark.exact
def test_both_forms_of_the_salt_make_the_same_bath() -> None:
    blue = work_out(WANTED)
    pale = work_out(replace(WANTED, salt="copper_sulfate_anhydrous"))
    assert pale.density_kg_per_m3 == blue.density_kg_per_m3
    assert blue.salt_kg - pale.salt_kg == pytest.approx(pale.water_kg - blue.water_kg, rel=1e-9)
    assert bath_density_kg_per_m3(BATH, temperature_k=ROOM_K) == pytest.approx(blue.density_kg_per_m3)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"copper_mol_per_m3": 1300.0}, "dissolves 1.27 mol/L"),
        ({"copper_mol_per_m3": 1200.0, "temperature_k": 10.0 + ZERO_CELSIUS_K}, "dissolves 1.07 mol/L"),
        ({"acid_strength_share": 1.1}, "at most 100 %"),
        ({"acid_strength_share": 0.0}, "at most 100 %"),
        ({"acid_strength_share": float("nan")}, "at most 100 %"),
        ({"volume_m3": 0.0}, "volume above 0"),
        ({"acid_mol_per_m3": -1.0}, "0 or more"),
        ({"acid_mol_per_m3": 1000.0, "acid_strength_share": 0.05}, "own water alone overfills"),
        ({"temperature_k": 5.0 + ZERO_CELSIUS_K}, "from 10 to 40 C"),
    ],
)
def test_a_bath_that_cannot_be_mixed_is_refused(changes: dict[str, float], words: str) -> None:
    with pytest.raises(OutOfRange, match=words):
        work_out(replace(WANTED, **changes))


def test_acid_stronger_than_its_density_table_is_weighed_not_poured() -> None:
    assert work_out(replace(WANTED, acid_strength_share=0.95)).acid_m3 is None
    assert work_out(WANTED).acid_m3 == pytest.approx(1.71e-6, rel=5e-3)


@pytest.mark.common_practice
def test_acid_goes_into_water_after_the_salt_and_the_volume_comes_last() -> None:
    steps = mixing_steps(work_out(WANTED))
    order = [
        next(k for k, step in enumerate(steps) if word in step)
        for word in ("water", "Weigh", "Pour", "top up")
    ]
    assert order == sorted(order)
    assert any("never water into acid" in step for step in steps)
    assert not any("Pour" in step for step in mixing_steps(work_out(replace(WANTED, acid_mol_per_m3=0.0))))
    assert any(
        "grows hot" in s for s in mixing_steps(work_out(replace(WANTED, salt="copper_sulfate_anhydrous")))
    )


@pytest.mark.exact
@given(length_m=st.floats(1e-5, 5e-2))
def test_the_copper_for_a_length_gives_that_length_back(length_m: float) -> None:
    eps = Known(value=0.45, sd=0.15)
    found = wanted_copper_mol_per_m3(length_m, molar_absorption_m2_per_mol=eps, wavelength_m=LASER_M)
    alpha = liquid("water").absorption_per_m(LASER_M) + LN10 * eps.value * found.value
    assert 1.0 / alpha == pytest.approx(length_m, rel=1e-9)
    assert found.sd / found.value == pytest.approx(eps.sd / eps.value)


@pytest.mark.parametrize("length_m", [0.0, -1e-3, 0.08])
def test_a_length_beyond_water_alone_is_refused(length_m: float) -> None:
    with pytest.raises(OutOfRange, match="water alone has"):
        wanted_copper_mol_per_m3(
            length_m, molar_absorption_m2_per_mol=Known(value=0.45), wavelength_m=LASER_M
        )


@pytest.mark.exact
def test_wear_conserves_copper_and_heat() -> None:
    spent = wear(
        BATH, flash_rate_hz=5000.0, spot_radius_m=20e-6, column_m=100e-6, absorbed_w=10.0, surface_m2=3.6e-3,
        density_kg_per_m3=1177.0,
    )  # fmt: skip
    # 1 mol/L in a column of 1.2566e-13 m3 is 1.2566e-10 mol a flash.
    assert spent.copper_mol_per_s == pytest.approx(5000.0 * 1.25664e-10, rel=1e-5)
    assert spent.copper_share_per_hour == pytest.approx(HOUR_S * spent.copper_mol_per_s / 0.05, rel=1e-12)
    assert spent.renew_s * spent.copper_mol_per_s == pytest.approx(0.1 * 0.05, rel=1e-12)
    assert spent.water_kg_per_s * 2256.4e3 == pytest.approx(10.0, rel=1e-12)
    assert spent.level_drop_m_per_s * 3.6e-3 * 998.2 == pytest.approx(spent.water_kg_per_s, rel=1e-12)
    assert spent.warming_k_per_s * 1177.0 * 50e-6 * 4184.0 == pytest.approx(10.0, rel=1e-12)


def test_no_flash_spends_no_copper() -> None:
    spent = wear(
        BATH, flash_rate_hz=0.0, spot_radius_m=20e-6, column_m=0.0, absorbed_w=1.0, surface_m2=1e-3,
        density_kg_per_m3=1177.0,
    )  # fmt: skip
    assert spent.renew_s == float("inf")
