"""Hold the caustic fit to beams drawn from known waist and quality."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from farface.kernel import Malformed, NotConverged
from farface.optics.beam import radius_at_m, rayleigh_range_m
from farface.optics.caustic import fit_caustic

STATED = 1e-4  # relative: the tolerance of checks.md row 48
LASER_M = 1.064e-6


def drawn_radii_m(positions_m, *, waist_m: float, waist_at_m: float, m2: float):
    rayleigh_m = rayleigh_range_m(waist_m=waist_m, wavelength_m=LASER_M, m2=m2)
    return np.array(
        [radius_at_m(distance_m=z - waist_at_m, waist_m=waist_m, rayleigh_m=rayleigh_m) for z in positions_m]
    )


# checks.md row 48: a waist 40 um across with M2 1.3.
@pytest.mark.exact
def test_the_iso_caustic_comes_back() -> None:
    positions_m = np.linspace(-3e-3, 3e-3, 13)
    radii_m = drawn_radii_m(positions_m, waist_m=20e-6, waist_at_m=0.0, m2=1.3)
    fit = fit_caustic(positions_m=positions_m, radii_m=radii_m, wavelength_m=LASER_M)
    assert fit.m2 == pytest.approx(1.3, rel=STATED)
    assert fit.rayleigh_m == pytest.approx(0.9085e-3, rel=STATED)
    assert fit.waist_m == pytest.approx(20e-6, rel=STATED)


@pytest.mark.exact
@given(
    waist_m=st.floats(5e-6, 100e-6),
    m2=st.floats(1.0, 3.0),
    at_share=st.floats(-1.0, 1.0),
    height_m=st.floats(0.0, 0.3),
)
def test_any_drawn_caustic_comes_back(waist_m: float, m2: float, at_share: float, height_m: float) -> None:
    rayleigh_m = rayleigh_range_m(waist_m=waist_m, wavelength_m=LASER_M, m2=m2)
    waist_at_m = height_m + at_share * rayleigh_m
    positions_m = height_m + rayleigh_m * np.linspace(-3.0, 3.0, 10)
    radii_m = drawn_radii_m(positions_m, waist_m=waist_m, waist_at_m=waist_at_m, m2=m2)
    fit = fit_caustic(positions_m=positions_m, radii_m=radii_m, wavelength_m=LASER_M)
    assert fit.waist_m == pytest.approx(waist_m, rel=1e-6)
    assert fit.m2 == pytest.approx(m2, rel=1e-6)
    assert fit.waist_at_m == pytest.approx(waist_at_m, abs=1e-6 * rayleigh_m)
    assert fit.residual_m < 1e-6 * waist_m


# With 2 % on each of 12 radii, waist and quality come out to about 1.3 %; without the weights the waist
# would only to 2.7 %. The bias is that of squaring a noisy radius, some 0.2 %.
NOISE_SHARE, SPREAD_MAX_SHARE, BIAS_MAX_SHARE = 0.02, 0.018, 0.005


@pytest.mark.calibration
def test_noisy_radii_give_waist_and_quality_almost_as_well() -> None:
    rng = np.random.default_rng(20240507)
    positions_m = np.linspace(-2.5e-3, 2.5e-3, 12)
    true_m = drawn_radii_m(positions_m, waist_m=20e-6, waist_at_m=0.2e-3, m2=1.3)
    noisy_m = true_m * (1.0 + NOISE_SHARE * rng.standard_normal((400, 12)))
    fits = [
        fit_caustic(positions_m=positions_m, radii_m=radii_m, wavelength_m=LASER_M) for radii_m in noisy_m
    ]
    for found, true in (([fit.m2 for fit in fits], 1.3), ([fit.waist_m for fit in fits], 20e-6)):
        assert np.mean(found) == pytest.approx(true, rel=BIAS_MAX_SHARE)
        assert np.std(found) < SPREAD_MAX_SHARE * true


@pytest.mark.parametrize(
    ("positions_m", "radii_m"),
    [
        ((0.0, 1e-3, 2e-3), (20e-6, 25e-6, 40e-6)),
        ((0.0, 1e-3, 2e-3, 3e-3), (20e-6, 25e-6, 40e-6)),
        ((0.0, 1e-3, 2e-3, 2e-3), (20e-6, 25e-6, 40e-6, 40e-6)),
        ((0.0, 1e-3, 2e-3, 3e-3), (20e-6, 25e-6, 0.0, 60e-6)),
    ],
)
def test_too_few_points_are_refused(positions_m, radii_m) -> None:
    with pytest.raises(Malformed, match="Measure more"):
        fit_caustic(positions_m=np.array(positions_m), radii_m=np.array(radii_m), wavelength_m=LASER_M)


@pytest.mark.parametrize(
    "radii_um",
    [
        (20, 20, 20, 20, 20),  # nothing but a waist
        (10, 20, 30, 20, 10),  # a bulge
        (10, 20, 30, 40, 50),  # a straight line
        (22.9, 29.9, 38.9, 48.7, 59.0),  # one side of a caustic
    ],
)
def test_radii_without_a_waist_are_refused(radii_um) -> None:
    with pytest.raises(NotConverged, match="show no waist"):
        fit_caustic(
            positions_m=np.linspace(-1e-3, 1e-3, 5), radii_m=1e-6 * np.array(radii_um), wavelength_m=LASER_M
        )
