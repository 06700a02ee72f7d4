import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from farface.cavity.nucleation import (
    INSIDE,
    limit_when_heated_k,
    log_nucleation,
    rate_when_held_per_m3_s,
    superheat_limit_k,
)
from farface.kernel import OutOfRange


@pytest.mark.exact
@pytest.mark.parametrize(("rate", "printed"), [(1e6, "575.7"), (1e12, "578.1")])
def test_limits_as_printed_with_the_full_poynting_correction(rate: float, printed: str) -> None:
    assert f"{superheat_limit_k(rate_per_m3_s=rate):.1f}" == printed


@pytest.mark.from_memory
@pytest.mark.parametrize("inside", INSIDE)
def test_every_form_lies_near_the_measured_limit(inside: str) -> None:
    """575 K at 1 atm by Skripov and Avedisian, from memory; the three forms span 2 K."""
    assert superheat_limit_k(rate_per_m3_s=1e6, inside=inside) == pytest.approx(575.0, abs=1.5)


@pytest.mark.exact
def test_the_forms_differ_by_what_their_page_says() -> None:
    limits = {inside: superheat_limit_k(rate_per_m3_s=1e9, inside=inside) for inside in INSIDE}
    assert limits["delta"] - limits["poynting"] == pytest.approx(0.55, abs=0.1)
    assert limits["poynting"] - limits["saturated"] == pytest.approx(1.2, abs=0.1)


@settings(max_examples=40, deadline=None)
@given(log_rate=st.floats(0.0, 65.0), atmospheres=st.floats(0.1, 30.0))
def test_the_limit_has_the_rate_asked_for(log_rate: float, atmospheres: float) -> None:
    pressure_pa = atmospheres * 101325.0
    limit_k = superheat_limit_k(rate_per_m3_s=math.exp(log_rate), liquid_pa=pressure_pa)
    assert log_nucleation(limit_k, liquid_pa=pressure_pa) == pytest.approx(log_rate, abs=1e-5)
    # Pressure on the liquid only delays boiling.
    assert limit_k < superheat_limit_k(rate_per_m3_s=math.exp(log_rate), liquid_pa=1.01 * pressure_pa)


@pytest.mark.exact
@pytest.mark.parametrize("heating_k_per_s", [1e3, 1e9])
def test_steady_heating_meets_ln_2_nuclei_on_its_way(heating_k_per_s: float) -> None:
    volume_m3 = 1e-14
    limit_k = limit_when_heated_k(heating_k_per_s=heating_k_per_s, volume_m3=volume_m3)
    path_k = np.linspace(limit_k - 15.0, limit_k, 3001)
    rates = np.exp([log_nucleation(t) for t in path_k])
    met = volume_m3 / heating_k_per_s * np.trapezoid(rates, path_k)
    # The growth of J is not quite exponential over the last kelvin; 5 % of J is 0.01 K.
    assert met == pytest.approx(math.log(2.0), rel=0.06)


@pytest.mark.exact
def test_a_microsecond_in_ten_picolitres() -> None:
    """What a spot of 20 um heats boils, if clean, near 582 K: some 5 K above the limit for 1e9 /m3/s."""
    rate = rate_when_held_per_m3_s(volume_m3=1e-14, waiting_s=1e-6)
    assert rate == pytest.approx(math.log(2.0) * 1e20)
    limit_k = superheat_limit_k(rate_per_m3_s=rate)
    assert limit_k == pytest.approx(582.6, abs=0.5)
    assert superheat_limit_k(rate_per_m3_s=1e9) < limit_k < 593.6  # the spinodal of IAPWS-95


def test_no_nuclei_form_below_the_boiling_point() -> None:
    assert log_nucleation(370.0) == -math.inf


def test_a_rate_that_no_temperature_has_is_refused() -> None:
    with pytest.raises(OutOfRange, match="Choose a rate"):
        superheat_limit_k(rate_per_m3_s=1e45)
