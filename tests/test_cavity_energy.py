import pytest
from scipy.optimize import brentq

from farface.cavity.energy import shock_ratio
from farface.cavity.keller_miksis import KellerMiksis

START_M = 1e-3


@pytest.mark.exact
def test_a_rebound_to_half_the_radius_keeps_an_eighth() -> None:
    assert shock_ratio(before_m=2.0, after_m=1.0) == pytest.approx(7.0)


def _splits(gas_share: float) -> list[float]:
    course = KellerMiksis(gas_radius_m=gas_share * START_M).course(start_m=START_M, duration_s=300e-6)
    radii_m = [START_M, *(turn.radius_m for turn in course.maxima)]
    return [shock_ratio(before_m=radii_m[i], after_m=radii_m[i + 1]) for i in range(2)]


@pytest.mark.published
def test_a_fixed_amount_of_gas_gives_the_first_collapse_but_not_the_second() -> None:
    """Wen et al. (2023) print 14.54:1 and 2.81:1 for the first and second collapse of millimetre cavities.

    The gas content that gives the first gives about 0.5:1 for the second: the vapour that condenses meanwhile
    is not in the model. The page on cavities says so.
    """
    gas_share = brentq(lambda share: _splits(share)[0] - 14.54, 0.12, 0.2, xtol=1e-4)
    first, second = _splits(gas_share)
    assert first == pytest.approx(14.54, rel=0.01)
    assert gas_share == pytest.approx(0.157, abs=0.002)
    assert second == pytest.approx(0.49, abs=0.03)
    assert second < 0.25 * 2.81
