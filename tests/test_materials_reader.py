"""Refuse material files that are wrong, naming what is wrong with them."""

from importlib.resources import files

import pytest

from farface.kernel import Malformed
from farface.materials.reader import read_absorber, read_glass, read_liquid

DATA = files("farface.materials") / "data"
SLIDE = (DATA / "glasses" / "soda_lime_slide.toml").read_text("utf-8")
WATER = (DATA / "liquids" / "water.toml").read_text("utf-8")
COPPER = (DATA / "absorbers" / "copper_sulfate.toml").read_text("utf-8")
POROUS = 'kind = "glass"\nporosity = { value = 0.1, source = "glass_handbook" }'


def test_a_good_file_reads_as_it_stands() -> None:
    assert read_glass("slide", SLIDE).name == "slide"


@pytest.mark.parametrize(
    ("was", "becomes", "sentence"),
    [
        ('kind = "glass"', POROUS, 'slide has an unknown key "porosity". Remove it,'),
        ("sd = 20.0,", "uncertainty = 20.0,", 'slide has an unknown key "density_kg_per_m3.uncertainty".'),
        ("density_kg_per_m3", "density_g_per_cm3", 'slide has an unknown key "density_g_per_cm3"'),
        ("density_kg_per_m3", "# density_kg_per_m3", 'slide lacks the key "density_kg_per_m3"'),
        ("value = 2500.0", "value = -2500.0", 'slide has a wrong value at "density_kg_per_m3.value"'),
        ("value = 2500.0", "value = inf", 'slide has a wrong value at "density_kg_per_m3.value"'),
        ("value = 2500.0", 'value = "heavy"', 'slide has a wrong value at "density_kg_per_m3.value"'),
        ("sd = 20.0,", "sd = -1.0,", 'slide has a wrong value at "density_kg_per_m3.sd"'),
        ('formula = "powers"', 'formula = "cauchy"', 'formula "cauchy" is none of sellmeier, sellm'),
        ("coefficients = [1.5130, ", "coefficients = [", "their number must be odd"),
        ('kind = "glass"', 'kind = "liquid"', 'slide has a wrong value at "kind"'),
        ('title = "', "title = ", "slide is no TOML file"),
        ("wavelength_um = [0.36, ", "wavelength_um = [", "28 wavelengths and 29 values"),
    ],
)
def test_a_wrong_file_is_refused_by_name(was: str, becomes: str, sentence: str) -> None:
    assert was in SLIDE
    with pytest.raises(Malformed) as caught:
        read_glass("slide", SLIDE.replace(was, becomes, 1))
    assert sentence in str(caught.value)


# checks.md row 33: a melt curve in dPa s has an a that is 1 too large. 263 + 273 + 4215 / (6.6 + 1.585) K.
@pytest.mark.published
def test_a_melt_curve_in_poise_is_refused() -> None:
    assert "a_log10_pa_s = -2.585" in SLIDE
    with pytest.raises(Malformed, match="puts its softening point at 1051 K, but softening_k says 995 K"):
        read_glass("slide", SLIDE.replace("a_log10_pa_s = -2.585", "a_log10_pa_s = -1.585"))


def test_fewer_than_three_check_values_are_refused() -> None:
    start = SLIDE.index("[[checks]]")
    one = SLIDE[start : SLIDE.index("[[checks]]", start + 1)]
    with pytest.raises(Malformed, match='wrong value at "checks"'):
        read_glass("slide", SLIDE[:start] + one)


def test_liquids_and_absorbers_are_held_to_the_same_rules() -> None:
    with pytest.raises(Malformed, match='lacks the key "latent_j_per_kg"'):
        read_liquid("water", WATER.replace("latent_j_per_kg", "# latent_j_per_kg"))
    with pytest.raises(Malformed, match='lacks the key "solubility_mol_per_m3"'):
        read_absorber("copper", COPPER.replace("solubility_mol_per_m3 =", "# solubility_mol_per_m3 =", 1))
    with pytest.raises(Malformed, match=r'wrong value at "molar_absorption_m2_per_mol\.value"'):
        read_absorber("copper", COPPER.replace("value = 0.45", "value = -0.45"))
