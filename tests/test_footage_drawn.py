"""Hold drawn films to the truth they claim: places, areas of grey, open shutters."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from farface.footage.coordinates import check_scale, pixel_of, place_of
from farface.footage.drawn import FilmTruth, TrueBubble, TrueFlash, discs_in_frame, draw_film
from farface.kernel import OutOfRange
from farface.records import FilmScale

AREA = 0.004  # share of a disc's area: 4 x 4 samples in a pixel at the edge, grey levels rounded
ROUND_TRIP_M = 1e-15  # m: rounding of lengths near a millimetre

SCALE = FilmScale(frame_hz=30_000.0, exposure_s=3e-6, pixel_m=20e-6, face_row_px=20.0)
QUIET = FilmTruth(scale=SCALE, frames=3, width_px=96, height_px=80, noise_grey=0.0, vignetting=0.0)


@given(
    along_m=st.floats(0.0, 5e-3),
    below_m=st.floats(-1e-3, 5e-3),
    slope=st.floats(-0.2, 0.2),
    row=st.floats(0, 99),
)
def test_places_and_pixels_are_inverse(along_m: float, below_m: float, slope: float, row: float) -> None:
    scale = replace(SCALE, face_slope=slope, face_row_px=row)
    column_px, row_px = pixel_of(scale, along_m=along_m, below_m=below_m)
    place = place_of(scale, column_px=column_px, row_px=row_px)
    assert place.along_m == pytest.approx(along_m, abs=ROUND_TRIP_M)
    assert place.below_m == pytest.approx(below_m, abs=ROUND_TRIP_M)


@pytest.mark.exact
def test_depth_is_square_to_a_tilted_face() -> None:
    scale = replace(SCALE, face_slope=0.75)  # a 3-4-5 triangle
    place = place_of(scale, column_px=0.0, row_px=SCALE.face_row_px + 50.0)
    assert place.below_m == pytest.approx(40.0 * SCALE.pixel_m)
    assert place.along_m == pytest.approx(30.0 * SCALE.pixel_m)


def test_the_playback_rate_is_refused_as_frame_rate() -> None:
    with pytest.raises(OutOfRange, match="not the one of playback"):
        check_scale(replace(SCALE, frame_hz=30.0, exposure_s=1.0))


@pytest.mark.exact
@pytest.mark.parametrize("radius_px", [4.3, 11.7, 25.0])
def test_a_disc_darkens_by_its_area_and_a_half_bubble_by_half(radius_px: float) -> None:
    middle = TrueBubble(
        start_s=-1.0, along_m=48 * 20e-6, below_m=30 * 20e-6, radius_max_m=radius_px * 20e-6, life_s=2.0
    )
    truth = replace(QUIET, bubbles=(middle,), frames=1)
    lost = _lost_pixels(truth)
    assert lost == pytest.approx(math.pi * radius_px**2, rel=AREA)
    assert discs_in_frame(truth, 0)[0].radius_px == pytest.approx(radius_px, rel=1e-6)
    attached = replace(middle, below_m=0.0)
    hidden = _lost_pixels(replace(truth, bubbles=(attached,)))
    under_line = 2.0 * radius_px * 1.2  # the dark line hides another 1.2 px of the half
    assert hidden == pytest.approx(0.5 * math.pi * radius_px**2 - under_line, abs=0.05 * radius_px + 0.3)


@pytest.mark.exact
def test_a_flash_shows_only_while_the_shutter_is_open() -> None:
    flash = TrueFlash(time_s=1.0 / 30_000 + 2e-6, along_m=1e-3, below_m=2e-4, radius_m=1e-4)
    film = draw_film(replace(QUIET, flashes=(flash,)), np.random.default_rng(0))
    assert [int(frame.max()) for frame in film] == [175, 255, 175]
    missed = replace(flash, time_s=flash.time_s + SCALE.exposure_s)
    assert draw_film(replace(QUIET, flashes=(missed,)), np.random.default_rng(0)).max() == 175


def test_the_same_seed_draws_the_same_film_and_noise_is_as_stated() -> None:
    noisy = replace(QUIET, noise_grey=5.0, frames=4)
    first, again = (draw_film(noisy, np.random.default_rng(7)) for _ in range(2))
    assert np.array_equal(first, again)
    assert first[:, 40:, :].std() == pytest.approx(math.hypot(5.0, math.sqrt(1.0 / 12.0)), rel=0.02)


def _lost_pixels(truth: FilmTruth) -> float:
    """Measure how many bath pixels' worth of light the first frame lacks against an empty one."""
    rng = np.random.default_rng(0)
    empty, full = (draw_film(t, rng)[0].astype(float) for t in (replace(truth, bubbles=()), truth))
    return float((empty - full).sum()) / (truth.bath_grey - truth.bubble_grey)
