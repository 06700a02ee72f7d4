"""Hold rates, shares and lives to closed forms and to a second implementation."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binomtest, chi2

from farface.footage.measures import (
    deeper_fraction,
    flash_intervals_s,
    flash_rate_hz,
    in_pulses,
    measure_footage,
    quantiles,
    sampling_warnings,
)
from farface.kernel import Missing, OutOfRange
from farface.materials.bubble_life import WATER_KG_PER_M3, WATER_OVERPRESSURE_PA, life_s, radius_from_life_m
from farface.records import Bubble, FilmReading, FilmScale, Flash

SECOND = 1e-9  # relative: two implementations of the same quantile
PER_UM = 5e-6  # us per um of radius: half the last printed digit of 0.09185

SCALE = FilmScale(frame_hz=30_000.0, exposure_s=10e-6, pixel_m=20e-6, face_row_px=40.0)


def _reading(
    *, flashes_s: tuple[float, ...] = (), depths_m: tuple[float, ...] = (), life_s: float = 1e-4
) -> FilmReading:
    """Make a reading of a tenth of a second."""
    return FilmReading(
        film="made up",
        scale=SCALE,
        frames=3000,
        duration_s=0.1,
        flashes=tuple(
            Flash(time_s=t, along_m=0.0, below_m=0.0, area_m2=1e-9, brightness=1.0, frames_lit=1)
            for t in flashes_s
        ),
        bubbles=tuple(
            Bubble(
                first_s=0.0,
                life_s=life_s,
                along_m=0.0,
                below_m=depth_m,
                radius_max_m=3e-4,
                times_s=(0.0,),
                radii_m=(3e-4,),
            )
            for depth_m in depths_m
        ),
    )


@pytest.mark.exact
@given(count=st.integers(0, 400), confidence=st.sampled_from([0.68, 0.9, 0.95, 0.99]))
def test_flash_rate_interval_is_garwoods(count: int, confidence: float) -> None:
    """Half the chi-square quantiles with 2 n and 2 n + 2 degrees of freedom."""
    rate = flash_rate_hz(_reading(flashes_s=tuple(np.linspace(0.0, 0.1, count))), confidence=confidence)
    tail = (1.0 - confidence) / 2.0
    low = chi2.ppf(tail, 2 * count) / 2.0 if count else 0.0
    assert rate.value == pytest.approx(count / 0.1)
    assert rate.low == pytest.approx(low / 0.1, rel=SECOND)
    assert rate.high == pytest.approx(chi2.ppf(1.0 - tail, 2 * count + 2) / 2.0 / 0.1, rel=SECOND)


@pytest.mark.exact
@given(deep=st.integers(0, 40), shallow=st.integers(0, 40))
def test_deeper_fraction_is_clopper_and_pearsons(deep: int, shallow: int) -> None:
    reading = _reading(depths_m=(5e-4,) * deep + (0.0,) * shallow)
    if deep + shallow == 0:
        with pytest.raises(Missing, match="no bubble"):
            deeper_fraction(reading, 1e-4)
        return
    fraction = deeper_fraction(reading, 1e-4)
    twin = binomtest(deep, deep + shallow).proportion_ci(0.95, method="exact")
    assert fraction.value == pytest.approx(deep / (deep + shallow))
    assert (fraction.low, fraction.high) == pytest.approx((twin.low, twin.high), rel=1e-8, abs=1e-12)


@pytest.mark.exact
def test_rayleigh_life_a_micrometre_of_radius() -> None:
    """Life is 2 x 0.09185 us per um of R_max, in water near 1 atm."""
    found_s = life_s(1e-6, WATER_KG_PER_M3, WATER_OVERPRESSURE_PA)
    assert 1e6 * found_s / 2.0 == pytest.approx(0.09185, abs=PER_UM)


@pytest.mark.common_practice
def test_bubbles_of_50_to_100_us_are_270_to_550_um_in_radius() -> None:
    """Small bubbles at 40 kHz live 50 to 100 us; beside a 1 mm plate that is what one sees."""
    measures = measure_footage(_reading(depths_m=(1e-4,), life_s=50e-6))
    assert 1e6 * measures.radius_from_life_m[2] == pytest.approx(272.0, abs=1.0)
    measures = measure_footage(_reading(depths_m=(1e-4,), life_s=100e-6))
    assert 1e6 * measures.radius_from_life_m[2] == pytest.approx(544.0, abs=1.0)


@pytest.mark.exact
def test_intervals_in_seconds_and_in_pulses() -> None:
    intervals_s = flash_intervals_s(_reading(flashes_s=(0.0, 1e-4, 1e-4, 4e-4)))
    assert intervals_s == pytest.approx([1e-4, 0.0, 3e-4])
    assert in_pulses(intervals_s, rate_hz=40e3) == pytest.approx([4.0, 0.0, 12.0])
    assert flash_intervals_s(_reading(flashes_s=(0.01,))).size == 0
    with pytest.raises(OutOfRange, match="above zero"):
        in_pulses(intervals_s, rate_hz=0.0)


def test_quantiles_of_nothing_are_none() -> None:
    assert quantiles([]) == ()
    assert quantiles([3.0]) == (3.0,) * 5


@pytest.mark.common_practice
def test_frames_33_us_apart_cannot_show_every_pulse_25_us_apart() -> None:
    (pulses, shutter) = sampling_warnings(_reading(), rate_hz=40e3)
    assert "33.3 us apart and pulses 25 us" in pulses
    assert "open 30 %" in shutter
    assert not any("pulse" in said for said in sampling_warnings(_reading(), rate_hz=10e3))


def test_short_lives_are_warned_of() -> None:
    (_, short) = sampling_warnings(_reading(depths_m=(0.0, 1e-4), life_s=50e-6))
    assert short.startswith("2 of 2 bubbles lived under two frames (66.7 us)")
    assert len(sampling_warnings(_reading(depths_m=(0.0,), life_s=70e-6))) == 1


def test_all_measures_of_a_reading() -> None:
    reading = _reading(flashes_s=(0.0, 1e-4), depths_m=(0.0, 2e-4), life_s=1e-4)
    measures = measure_footage(reading, rate_hz=20e3)
    assert measures.life_s[2] == pytest.approx(1e-4)
    assert measures.radius_from_life_m[2] == pytest.approx(
        radius_from_life_m(1e-4, WATER_KG_PER_M3, WATER_OVERPRESSURE_PA)
    )
    assert measures.below_m[2] == pytest.approx(1e-4)
    assert measures.interval_s[2] == pytest.approx(1e-4)
    assert measure_footage(_reading()).life_s == ()
