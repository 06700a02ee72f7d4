"""Hold the plate to printed reflections, losses and focus shifts, and to rays traced by Snell's law."""

import math
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from farface.materials import glass, liquid
from farface.optics.plate import (
    focus_shift_m,
    focus_spread_m,
    focus_spread_third_order_m,
    lens_drop_m,
    plate_shares,
    reflected_share,
    skin_depth_m,
    wavefront_error_m,
)

LAST_DIGIT = 5e-6  # absolute: the shares are printed to five decimals
STATED = 1e-4  # relative: the tolerance of checks.md rows 45 and 46
SLIDE, WATER, LASER_M = glass("soda_lime_slide"), liquid("water"), 1.064e-6


# checks.md row 21, from the indices of rubin1985 and daimon2007.
@pytest.mark.exact
@pytest.mark.parametrize(
    ("index_from", "index_to", "share"), [(1.0, 1.51291, 0.04166), (1.51291, 1.32453, 0.00441)]
)
def test_reflections_of_a_slide(index_from: float, index_to: float, share: float) -> None:
    assert reflected_share(index_from=index_from, index_to=index_to) == pytest.approx(share, abs=LAST_DIGIT)


# checks.md row 22: copper in air and in water (Johnson and Christy 1972: n 0.351, k 7.033).
@pytest.mark.published
@pytest.mark.parametrize(("index_from", "share"), [(1.0, 0.9726), (1.32453, 0.9644)])
def test_reflection_of_copper(index_from: float, share: float) -> None:
    reflected = reflected_share(index_from=index_from, index_to=0.351, extinction=7.033)
    assert reflected == pytest.approx(share, abs=5e-5)


# checks.md row 23: k 7.033 at 1064 nm (Johnson and Christy 1972).
@pytest.mark.published
def test_skin_depth_of_copper() -> None:
    assert skin_depth_m(wavelength_m=LASER_M, extinction=7.033) * 1e9 == pytest.approx(12.04, abs=5e-3)


# checks.md row 59: depth in glass of index 1.515 over travel (QJMS 1955), and for rays of NA 0.4.
@pytest.mark.published
@pytest.mark.parametrize(("sine", "depth_over_travel"), [(0.0, 1.515), (0.4, 1.594)])
def test_depth_over_focus_travel(sine: float, depth_over_travel: float) -> None:
    travel_m = 1.0 - focus_shift_m(thickness_m=1.0, index=1.515, sine=sine)
    assert 1.0 / travel_m == pytest.approx(depth_over_travel, rel=1e-3)


@pytest.mark.exact
@given(index_from=st.floats(1.0, 3.0), index_to=st.floats(1.0, 3.0), extinction=st.floats(0.0, 10.0))
def test_reflection_is_a_share_and_the_same_both_ways(
    index_from: float, index_to: float, extinction: float
) -> None:
    assert 0.0 <= reflected_share(index_from=index_from, index_to=index_to, extinction=extinction) < 1.0
    there = reflected_share(index_from=index_from, index_to=index_to)
    assert there == reflected_share(index_from=index_to, index_to=index_from)


# checks.md rows 20 and 21 multiplied: 0.95834 x 0.9435 arrives, 0.99559 of that enters the bath.
@pytest.mark.published
def test_a_millimetre_slide_lets_nine_tenths_through() -> None:
    shares = plate_shares(SLIDE, WATER, thickness_m=1e-3, wavelength_m=LASER_M)
    assert 1.0 - shares.bulk_share == pytest.approx(0.9435, rel=1e-3)
    assert shares.arriving_share == pytest.approx(0.95834 * 0.9435, rel=1e-3)
    assert shares.entering_share == pytest.approx(0.95834 * 0.9435 * 0.99559, rel=1e-3)


@pytest.mark.exact
@given(thickness_m=st.floats(1e-5, 2e-2))
def test_two_half_plates_absorb_as_one(thickness_m: float) -> None:
    whole = plate_shares(SLIDE, WATER, thickness_m=thickness_m, wavelength_m=LASER_M).bulk_share
    half = plate_shares(SLIDE, WATER, thickness_m=thickness_m / 2.0, wavelength_m=LASER_M).bulk_share
    assert 1.0 - whole == pytest.approx((1.0 - half) ** 2, rel=1e-12)


# checks.md row 45: 1 mm of n 1.5129; formula from memory.
@pytest.mark.from_memory
def test_focus_shift_near_the_axis() -> None:
    assert focus_shift_m(thickness_m=1e-3, index=1.5129) == pytest.approx(0.33902e-3, rel=STATED)


# checks.md row 46: 1 mm of n 1.5 at NA 0.2.
@pytest.mark.exact
def test_spherical_aberration_of_a_plate() -> None:
    plate = {"thickness_m": 1e-3, "index": 1.5, "sine": 0.2}
    assert focus_spread_m(**plate) == pytest.approx(7.5846e-6, rel=STATED)
    assert focus_spread_third_order_m(**plate) == pytest.approx(7.5083e-6, rel=STATED)


@pytest.mark.exact
@given(thickness_m=st.floats(1e-4, 1e-2), index=st.floats(1.3, 2.0), sine=st.floats(0.01, 0.6))
def test_focus_shift_is_what_a_traced_ray_does(thickness_m: float, index: float, sine: float) -> None:
    tangent_air = math.tan(math.asin(sine))
    tangent_glass = math.tan(math.asin(sine / index))
    height_m = (
        thickness_m * tangent_glass
    )  # of the ray on the front face, if it meets the axis at the far one
    expected_m = thickness_m - height_m / tangent_air
    assert focus_shift_m(thickness_m=thickness_m, index=index, sine=sine) == pytest.approx(
        expected_m, rel=1e-9
    )


@pytest.mark.exact
def test_third_order_is_the_limit_of_small_angles() -> None:
    plate = {"thickness_m": 1e-3, "index": 1.5}
    errors = [
        abs(focus_spread_m(**plate, sine=s) / focus_spread_third_order_m(**plate, sine=s) - 1.0)
        for s in (0.2, 0.1, 0.05)
    ]
    for coarse, fine in pairwise(errors):
        assert coarse / fine == pytest.approx(4.0, rel=0.05)  # the next term is of order u^2


# Spherical aberration W040 rho^4 shifts the focus of the edge by 8 W040 / u^2.
@pytest.mark.exact
@given(sine=st.floats(0.01, 0.5), index=st.floats(1.3, 2.0))
def test_wavefront_and_focus_spread_tell_of_one_aberration(sine: float, index: float) -> None:
    wavefront_m = wavefront_error_m(thickness_m=1e-3, index=index, sine=sine)
    spread_m = focus_spread_third_order_m(thickness_m=1e-3, index=index, sine=sine)
    assert 4.0 * wavefront_m / math.asin(sine) ** 2 == pytest.approx(spread_m, rel=1e-9)


@pytest.mark.exact
@given(thickness_m=st.floats(1e-4, 1e-2), index=st.floats(1.3, 2.0))
def test_lowering_the_lens_and_the_shift_make_up_the_plate(thickness_m: float, index: float) -> None:
    drop_m = lens_drop_m(thickness_m=thickness_m, index=index)
    assert drop_m + focus_shift_m(thickness_m=thickness_m, index=index) == pytest.approx(
        thickness_m, rel=1e-9
    )
