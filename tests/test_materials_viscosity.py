"""Hold the melt curve to printed softening points, and refuse the curve in the wrong unit."""

import math

import pytest

from farface.materials.viscosity import SOFTENING_LOG10_PA_S, ZERO_CELSIUS_K, Viscosity

HALF_A_KELVIN = 0.5  # K: the points are printed to a degree

# The property list prints A, B, T0 in degrees Celsius; checks.md row 32 the softening points it means.
CURVES = {
    "soda-lime container": (-2.309, 3922.0, 291.0, 731.0),
    "low-expansion borosilicate": (-2.834, 6668.0, 108.0, 815.0),
    "silica": (-7.766, 27913.0, -271.7, 1671.0),
}


def curve(name: str) -> Viscosity:
    a, b_k, t0_celsius, _ = CURVES[name]
    return Viscosity(a_log10_pa_s=a, b_k=b_k, t0_k=t0_celsius + ZERO_CELSIUS_K, source="glass_viscosity_list")


@pytest.mark.published
@pytest.mark.parametrize("name", CURVES)
def test_softening_points_as_printed(name: str) -> None:
    assert curve(name).softening_k - ZERO_CELSIUS_K == pytest.approx(CURVES[name][3], abs=HALF_A_KELVIN)


@pytest.mark.exact
@pytest.mark.parametrize("log10_pa_s", [3.0, SOFTENING_LOG10_PA_S, 12.0])
def test_viscosity_and_temperature_undo_each_other(log10_pa_s: float) -> None:
    melt = curve("silica")
    again = math.log10(melt.viscosity_pa_s(melt.temperature_k(log10_pa_s)))
    assert again == pytest.approx(log10_pa_s, rel=1e-12)


# checks.md row 33: the same curve asked for 10^7.6, poise taken for Pa s, gives 747 C.
@pytest.mark.published
def test_poise_taken_for_pascal_seconds_is_far_off() -> None:
    wrong_k = curve("low-expansion borosilicate").temperature_k(SOFTENING_LOG10_PA_S + 1.0)
    assert wrong_k - ZERO_CELSIUS_K == pytest.approx(747.0, abs=HALF_A_KELVIN)


def test_cold_glass_does_not_flow() -> None:
    melt = curve("soda-lime container")
    assert melt.viscosity_pa_s(melt.t0_k) == math.inf
    assert melt.viscosity_pa_s(melt.t0_k + 1.0) > 1e300 * 0.99
