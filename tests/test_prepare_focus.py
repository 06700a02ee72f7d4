"""Hold focus, tilt and ladder to closed forms, and a lens to what it can reach."""

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from farface.kernel import Malformed, NotConverged, OutOfRange
from farface.optics.beam import rayleigh_range_m, waist_radius_m
from farface.optics.plate import focus_shift_m, focus_spread_m, focus_spread_third_order_m, lens_drop_m
from farface.prepare.focus import GROWTH, focus_needs, read_ladder, require_reach
from farface.prepare.front_face import bearable_j_per_m2, front_standing
from farface.records import Known, Plate, Rig
from plan_records import RIG as PLAN_RIG

RIG: Rig = replace(
    PLAN_RIG,
    plate=Plate(
        glass="soda_lime_slide",
        thickness_m=Known(value=1e-3, sd=10e-6, how="measured"),
        width_m=0.025,
        height_m=0.075,
    ),
    spot_radius_m=Known(value=20e-6, sd=1e-6, how="measured"),
)


# Smith, Modern Optical Engineering (formula from memory), evaluated for 1 mm of n 1.5129: 0.33902 mm.
@pytest.mark.from_memory
def test_a_plate_shifts_the_focus_by_t_times_1_less_1_over_n() -> None:
    assert focus_shift_m(thickness_m=1e-3, index=1.5129) == pytest.approx(0.33902e-3, rel=1e-4)
    assert focus_shift_m(thickness_m=1e-3, index=1.5129) + lens_drop_m(
        thickness_m=1e-3, index=1.5129
    ) == pytest.approx(1e-3, rel=1e-12)


# 1 mm of n 1.5 at a numerical aperture of 0.2: exactly 7.5846 um, to third order 7.5083 um.
@pytest.mark.exact
def test_the_aberration_of_a_plate() -> None:
    assert focus_spread_m(thickness_m=1e-3, index=1.5, sine=0.2) == pytest.approx(7.5846e-6, rel=1e-4)
    third = focus_spread_third_order_m(thickness_m=1e-3, index=1.5, sine=0.2)
    assert third == pytest.approx(7.5083e-6, rel=1e-4)


# Siegman, Lasers (from memory): 1064 nm, f 100 mm, 5 mm across: 13.547 um and 0.54189 mm.
@pytest.mark.from_memory
def test_the_focus_of_a_gaussian_beam() -> None:
    waist_m = waist_radius_m(wavelength_m=1.064e-6, m2=1.0, focal_m=0.1, beam_radius_m=2.5e-3)
    assert waist_m == pytest.approx(13.547e-6, rel=1e-4)
    assert rayleigh_range_m(waist_m=waist_m, wavelength_m=1.064e-6, m2=1.0) == pytest.approx(
        0.54189e-3, rel=1e-4
    )


@pytest.mark.exact
def test_tolerance_and_tilt_are_what_keeps_the_spot_within_a_tenth() -> None:
    needs = focus_needs(RIG, field_m=20e-3)
    rayleigh_m = math.pi * 20e-6**2 / (1.4 * 1.064e-6)
    assert needs.tolerance_m == pytest.approx(rayleigh_m * math.sqrt(GROWTH**2 - 1.0))
    index = 1e-3 / needs.lens_drop_m.value
    assert index == pytest.approx(1.5129, abs=1e-4)
    assert math.tan(needs.tilt_rad) * 10e-3 == pytest.approx(needs.tolerance_m - 10e-6 / index, rel=1e-9)


@pytest.mark.exact
@given(field=st.floats(1e-3, 0.1))
def test_a_wider_field_must_lie_flatter(field: float) -> None:
    assert focus_needs(RIG, field_m=2.0 * field).tilt_rad < focus_needs(RIG, field_m=field).tilt_rad


def test_a_thickness_known_too_loosely_is_refused() -> None:
    loose = replace(RIG, plate=replace(RIG.plate, thickness_m=Known(value=1e-3, sd=0.8e-3)))
    with pytest.raises(OutOfRange, match="Measure the thickness"):
        focus_needs(loose, field_m=20e-3)
    with pytest.raises(OutOfRange, match="field above 0"):
        focus_needs(RIG, field_m=0.0)


@pytest.mark.parametrize(
    ("reach", "words"),
    [
        ({"travel_m": 0.5e-3}, "its slide goes down by 500.0 um"),
        ({"working_m": 55e-3}, "10.0 mm must stay free"),
    ],
)
def test_a_lens_that_cannot_reach_is_refused(reach: dict[str, float], words: str) -> None:
    given = {"travel_m": None, "working_m": None} | reach
    with pytest.raises(OutOfRange, match=words):
        require_reach(drop_m=0.7e-3, cover_above_m=50e-3, **given)
    require_reach(drop_m=0.7e-3, cover_above_m=50e-3, travel_m=1e-3, working_m=61e-3)


OFFSETS = [k * 100e-6 for k in range(-4, 5)]


@pytest.mark.exact
@given(low=st.integers(1, 7), width=st.integers(0, 6))
def test_the_ladder_gives_the_middle_of_what_marked(low: int, width: int) -> None:
    high = min(7, low + width)
    marked = [low <= k <= high for k in range(9)]
    found = read_ladder(OFFSETS * 2, marked * 2)
    assert found.middle_m.value == pytest.approx(0.5 * (OFFSETS[low] + OFFSETS[high]), abs=1e-12)
    assert found.middle_m.sd == pytest.approx(100e-6 / math.sqrt(24.0))
    assert (found.marked, found.rungs) == (high - low + 1, 9)


@pytest.mark.parametrize(
    ("offsets", "marked", "fault"),
    [
        (OFFSETS, [False] * 9, NotConverged),
        (OFFSETS, [True] * 9, NotConverged),
        (OFFSETS, [False] * 8 + [True], NotConverged),
        (OFFSETS[:2], [True, False], Malformed),
        (OFFSETS, [True], Malformed),
    ],
)
def test_a_ladder_that_does_not_reach_around_the_focus_is_refused(offsets, marked, fault) -> None:
    with pytest.raises(fault):
        read_ladder(offsets, marked)


# Handbook values for polished glass at 10 ns, from memory; the root of the pulse's length is exact here.
@pytest.mark.from_memory
def test_the_front_face_bears_more_from_longer_pulses() -> None:
    assert bearable_j_per_m2(10e-9, clean=False) == pytest.approx(20e4)
    assert bearable_j_per_m2(40e-9, clean=True) == pytest.approx(2.0 * bearable_j_per_m2(10e-9, clean=True))
    said = [front_standing(f, pulse_s=10e-9) for f in (10e4, 50e4, 200e4)]
    assert said == ["bears it", "a clean face bears it", "may be marked"]
