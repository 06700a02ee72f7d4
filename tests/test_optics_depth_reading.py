"""Depths read without a profiler, and the incubation exponent."""

import numpy as np
import pytest

from farface.kernel import Malformed, OutOfRange
from farface.optics.depth_reading import REPEATS_TO_M, depth_by_focus, depth_by_weight, focus_factors
from farface.optics.incubation import fit_incubation
from farface.records import Known

UM = 1e-6


@pytest.mark.published
def test_focus_travel_through_a_slide_as_printed() -> None:
    """Galbraith, Q. J. Microsc. Sci. s3-96 (1955) 285: n 1.515, paraxial 1.515; marginal at NA 0.4, 1.594."""
    paraxial, marginal = focus_factors(index=1.515, aperture_sine=0.4)
    assert f"{paraxial:.3f} {marginal:.3f}" == "1.515 1.594"


@pytest.mark.exact
def test_the_marginal_factor_is_that_of_a_ray_drawn_by_hand() -> None:
    sine, index, depth = 0.4, 1.5, 1.0
    inside = np.arcsin(sine / index)
    seen = depth * np.tan(inside) / np.tan(np.arcsin(sine))
    assert focus_factors(index=index, aperture_sine=sine)[1] == pytest.approx(depth / seen)
    assert focus_factors(index=index, aperture_sine=1e-6)[1] == pytest.approx(index)
    assert focus_factors(index=1.0, aperture_sine=0.4) == pytest.approx((1.0, 1.0))


@pytest.mark.exact
def test_repeats_and_the_factor_make_the_error() -> None:
    travels_m = np.array([31, 33, 35, 33]) * UM
    in_air = depth_by_focus(travels_m, index=1.0, aperture_sine=0.3)
    assert in_air.value == pytest.approx(33 * UM)
    assert in_air.sd == pytest.approx(travels_m.std(ddof=1) / 2.0)
    glass = depth_by_focus(travels_m, index=1.515, aperture_sine=0.4)
    low, high = focus_factors(index=1.515, aperture_sine=0.4)
    assert glass.value == pytest.approx(33 * UM * (low + high) / 2)
    wide = 33 * UM * (high - low) / np.sqrt(12)
    assert glass.sd == pytest.approx(np.hypot(in_air.sd * (low + high) / 2, wide))
    once = depth_by_focus(travels_m[:1], index=1.0, aperture_sine=0.3)
    assert once.sd == pytest.approx(REPEATS_TO_M)


@pytest.mark.exact
def test_a_loss_of_weight_over_an_area() -> None:
    """1.78 mg of glass of 2200 kg/m3 over 9 x 9 mm are 10 um."""
    found = depth_by_weight(Known(value=1.782e-6, sd=0.1782e-6), area_m2=81e-6, density_kg_per_m3=2200.0)
    assert (found.value, found.sd) == pytest.approx((10 * UM, 1 * UM))


def test_readings_that_are_none_are_refused() -> None:
    with pytest.raises(Malformed, match="rim down"):
        depth_by_focus(np.array([]), index=1.5, aperture_sine=0.3)
    with pytest.raises(Malformed, match="rim down"):
        depth_by_focus(np.array([-3 * UM]), index=1.5, aperture_sine=0.3)
    with pytest.raises(OutOfRange, match="dry lens"):
        depth_by_focus(np.array([3 * UM]), index=1.5, aperture_sine=1.2)
    with pytest.raises(Malformed, match="Weigh again"):
        depth_by_weight(Known(value=-1e-6), area_m2=81e-6, density_kg_per_m3=2200.0)


@pytest.mark.exact
def test_a_drawn_incubation_comes_back_and_its_error_too() -> None:
    pulses = np.array([1.0, 3.0, 10.0, 30.0, 100.0])
    exact = fit_incubation(pulses=pulses, thresholds_j=50e-6 * pulses ** (0.85 - 1.0))
    assert (exact.incubation_exponent, exact.single_j) == pytest.approx((0.85, 50e-6))
    rng = np.random.default_rng(1)
    found = [
        fit_incubation(
            pulses=pulses, thresholds_j=50e-6 * pulses**-0.15 * np.exp(0.1 * rng.standard_normal(5))
        )
        for _ in range(2000)
    ]
    spread = np.std([one.incubation_exponent for one in found])
    assert spread == pytest.approx(np.sqrt(np.mean([one.exponent_sd**2 for one in found])), rel=0.05)


def test_two_counts_are_no_line() -> None:
    with pytest.raises(Malformed, match="three different counts"):
        fit_incubation(pulses=np.array([1.0, 10.0, 10.0]), thresholds_j=np.array([1e-5, 1e-6, 1e-6]))
