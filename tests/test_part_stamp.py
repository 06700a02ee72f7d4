"""Sums of dents, against numerical integration."""

import math

import pytest
from scipy.integrate import quad

from farface.kernel import OutOfRange
from farface.part.stamp import dent_radius_m, dent_volume_m2, line_share, peak_depth_m

W = 20e-6
SHARES = [0.0, 0.001, 0.05, 0.4, 0.95]

# scipy.integrate.quad gives 1e-8 on these smooth or once-kinked profiles.
QUADRATURE = 1e-7


def profile(r: float, share: float) -> float:
    return max(math.exp(-2.0 * (r / W) ** 2) - share, 0.0) / (1.0 - share)


def end(share: float) -> float:
    return dent_radius_m(W, share) if share else 6.0 * W


@pytest.mark.exact
@pytest.mark.parametrize("share", SHARES)
def test_the_volume_is_the_integral_of_the_profile(share: float) -> None:
    volume = quad(lambda r: profile(r, share) * 2.0 * math.pi * r, 0.0, end(share), epsabs=0.0, epsrel=1e-10)[
        0
    ]
    assert dent_volume_m2(W, share) == pytest.approx(volume, rel=QUADRATURE)


@pytest.mark.exact
@pytest.mark.parametrize("share", SHARES)
def test_a_line_is_as_deep_as_its_dents_summed(share: float) -> None:
    pitch = 15e-6
    across = 2.0 * quad(lambda x: profile(x, share), 0.0, end(share), epsabs=0.0, epsrel=1e-10)[0]
    expected = (across / pitch) / (dent_volume_m2(W, share) / pitch**2)
    found = line_share(pitch_m=pitch, spot_radius_m=W, threshold_share=share)
    assert found == pytest.approx(expected, rel=QUADRATURE)


@pytest.mark.exact
def test_without_a_threshold_a_line_has_a_simple_share() -> None:
    share = line_share(pitch_m=15e-6, spot_radius_m=W, threshold_share=0.0)
    assert share == pytest.approx(math.sqrt(2.0 / math.pi) * 15.0 / 20.0, rel=1e-12)
    assert line_share(pitch_m=15e-6, spot_radius_m=W, threshold_share=1e-9) == pytest.approx(share, rel=1e-6)


@pytest.mark.exact
def test_a_dent_ends_where_the_fluence_meets_the_threshold() -> None:
    assert dent_radius_m(W, math.exp(-2.0)) == pytest.approx(W, rel=1e-12)
    assert profile(dent_radius_m(W, 0.05) * 0.999, 0.05) > 0.0


@pytest.mark.exact
def test_a_hatch_of_dents_has_the_depth_it_was_made_from() -> None:
    peak = peak_depth_m(4e-6, pitch_m=15e-6, spot_radius_m=W, threshold_share=0.05)
    assert peak * dent_volume_m2(W, 0.05) / 15e-6**2 == pytest.approx(4e-6, rel=1e-12)


@pytest.mark.parametrize(("spot", "share"), [(0.0, 0.1), (math.nan, 0.1), (W, 1.0), (W, -0.1), (W, math.nan)])
def test_a_spot_and_a_share_must_make_sense(spot: float, share: float) -> None:
    with pytest.raises(OutOfRange):
        dent_volume_m2(spot, share)
