"""Hold the absorption tables to their interpolation, and refuse those that cannot be interpolated."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from farface.kernel import Malformed, OutOfRange
from farface.materials import glass, liquid
from farface.materials.spectral import Spectrum

ROUNDING = 1e-12  # relative: one logarithm and one exponential
OWN_WIDTH = 1e-3  # relative: the tolerance that checks.md states in row 20


def table(wavelengths_m: tuple[float, ...], absorptions_per_m: tuple[float, ...]) -> Spectrum:
    return Spectrum(
        wavelengths_m=wavelengths_m, absorptions_per_m=absorptions_per_m, sd_share=0.0, source="hale1973"
    )


# checks.md row 20: what 1 mm of clear soda-lime lets through inside.
@pytest.mark.published
def test_a_millimetre_of_soda_lime() -> None:
    passed = math.exp(-glass("soda_lime_slide").absorption_per_m(1.064e-6) * 1e-3)
    assert passed == pytest.approx(0.9435, rel=OWN_WIDTH)


# checks.md row 19: Hale and Querry's points for water at 1.0 and 1.2 um, k 2.89e-6 and 9.89e-6, would
# give some 0.61 /cm at 1.064 um, four times too much.
@pytest.mark.published
def test_a_coarse_table_of_water_is_refused() -> None:
    coarse_m, coarse_k = (0.975e-6, 1.0e-6, 1.2e-6), (3.48e-6, 2.89e-6, 9.89e-6)
    alphas_per_m = tuple(4.0 * math.pi * k / w for k, w in zip(coarse_k, coarse_m, strict=True))
    with pytest.raises(Malformed, match=r"from 36\.3\d* to 103\.\d+ /m between 1 and 1\.2 um, .* too coarse"):
        table(coarse_m, alphas_per_m)


@pytest.mark.exact
@given(at=st.floats(0.0, 1.0), low=st.floats(1.0, 2.0), high=st.floats(1.0, 2.0))
def test_interpolation_is_geometric(at: float, low: float, high: float) -> None:
    spectrum = table((0.5e-6, 0.6e-6, 0.7e-6), (low, high, low))
    for start_m, a, b in ((0.5e-6, low, high), (0.6e-6, high, low)):
        wavelength_m = min(start_m + at * 0.1e-6, start_m + 0.1e-6, 0.7e-6)
        share = (wavelength_m - start_m) / 0.1e-6
        expected_per_m = a ** (1.0 - share) * b**share
        assert spectrum.absorption_per_m(wavelength_m) == pytest.approx(expected_per_m, rel=1e-9)


@pytest.mark.exact
@pytest.mark.parametrize("spectrum", [glass("soda_lime_slide").absorption, liquid("water").absorption])
def test_points_of_the_table_come_back(spectrum: Spectrum) -> None:
    for wavelength_m, alpha_per_m in zip(spectrum.wavelengths_m, spectrum.absorptions_per_m, strict=True):
        assert spectrum.absorption_per_m(wavelength_m) == pytest.approx(alpha_per_m, rel=ROUNDING)


@pytest.mark.parametrize(
    ("wavelengths_m", "absorptions_per_m", "fault"),
    [
        ((0.5e-6,), (1.0,), "at least two"),
        ((0.5e-6, 0.6e-6), (1.0,), "as many of each"),
        ((0.6e-6, 0.5e-6), (1.0, 1.0), "must rise"),
        ((0.5e-6, 0.5e-6), (1.0, 1.0), "must rise"),
        ((0.5e-6, 0.6e-6), (1.0, 0.0), "above zero"),
        ((0.5e-6, 0.6e-6), (1.0, 2.6), "too coarse"),
        ((0.5e-6, 0.6e-6), (2.6, 1.0), "too coarse"),
    ],
)
def test_what_is_no_table_is_refused(wavelengths_m, absorptions_per_m, fault: str) -> None:
    with pytest.raises(Malformed, match=fault):
        table(wavelengths_m, absorptions_per_m)


def test_beyond_the_table_is_refused() -> None:
    with pytest.raises(
        OutOfRange, match=r"wavelength is 1\.55 um, but kedenburg2012 covers 0\.5 to 1\.201 um"
    ):
        liquid("water").absorption_per_m(1.55e-6)
