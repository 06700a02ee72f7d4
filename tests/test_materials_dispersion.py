"""Hold the dispersion formulas to printed indices, and their limits to the sources' ranges."""

import math

import pytest

from farface.kernel import OutOfRange
from farface.materials import glass, glass_names, liquid
from farface.materials.dispersion import FORMULAS, Dispersion

ROUNDING = 1e-12  # relative: a handful of operations on doubles

# checks.md rows 14, 15, 16, 18, with the tolerance each row states.
INDICES = [
    ("malitson1965", glass("fused_silica"), 1.064e-6, 1.44963, 1e-5),
    ("malitson1965", glass("fused_silica"), 0.532e-6, 1.46071, 1e-5),
    ("rubin1985", glass("soda_lime_slide"), 1.064e-6, 1.51291, 1e-5),
    ("daimon2007", liquid("water"), 1.064e-6, 1.32453, 2e-5),
]


@pytest.mark.published
@pytest.mark.parametrize(("source", "material", "wavelength_m", "index", "tolerance"), INDICES)
def test_printed_indices(source, material, wavelength_m, index, tolerance) -> None:
    assert material.source("index") == source
    assert material.index(wavelength_m) == pytest.approx(index, abs=tolerance)


# checks.md row 17: another batch of soda-lime gives 1.505; the stated spread must reach it within two sd.
@pytest.mark.published
def test_batches_of_soda_lime_lie_within_the_stated_spread() -> None:
    slide = glass("soda_lime_slide")
    assert abs(slide.index(1.064e-6) - 1.505) < 2.0 * slide.refraction.sd


@pytest.mark.exact
@pytest.mark.parametrize(
    ("formula", "coefficients", "index"),
    [
        # l = 2 um: n^2 = 1 + 0.5 + 1 x 4 / (4 - 1) with c = 1 um
        ("sellmeier", (0.5, 1.0, 1.0), math.sqrt(1.5 + 4.0 / 3.0)),
        # the same with c = 1.5 um as a wavelength and c = 2.25 um2 as a square
        ("sellmeier", (0.0, 0.7, 1.5), math.sqrt(1.0 + 0.7 * 4.0 / 1.75)),
        ("sellmeier_squares", (0.0, 0.7, 2.25), math.sqrt(1.0 + 0.7 * 4.0 / 1.75)),
        # 1.5 - 0.01 x 4 + 0.02 / 4
        ("powers", (1.5, -0.01, 2.0, 0.02, -2.0), 1.465),
    ],
)
def test_formulas_by_hand(formula: str, coefficients: tuple[float, ...], index: float) -> None:
    assert FORMULAS[formula](2e-6, coefficients) == pytest.approx(index, rel=ROUNDING)


@pytest.mark.exact
@pytest.mark.parametrize("material", [*map(glass, glass_names()), liquid("water")], ids=lambda m: m.name)
def test_dispersion_is_normal_through_the_visible(material) -> None:
    indices = [material.index(wavelength_m * 1e-9) for wavelength_m in range(420, 1100, 20)]
    assert indices == sorted(indices, reverse=True)


def test_outside_the_range_the_source_is_named() -> None:
    with pytest.raises(OutOfRange) as caught:
        glass("fused_silica").index(10.6e-6)
    assert str(caught.value) == (
        "wavelength is 10.6 um, but malitson1965 covers 0.21 to 3.71 um. "
        "Choose a wavelength in that range, or add a source that covers it."
    )


def test_the_ends_of_the_range_belong_to_it() -> None:
    flat = Dispersion(
        formula="powers", coefficients=(1.5,), range_m=(0.4e-6, 0.7e-6), sd=0.0, source="malitson1965"
    )
    assert flat.index(0.4e-6) == flat.index(0.7e-6) == 1.5
    with pytest.raises(OutOfRange):
        flat.index(0.39e-6)
    with pytest.raises(OutOfRange):
        flat.index(math.nan)
