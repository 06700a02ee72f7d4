"""Hold the finding of the far face to drawn truth."""

from dataclasses import replace

import numpy as np
import pytest

from farface.footage.drawn import FilmTruth, TrueBubble, draw_film
from farface.footage.face import find_face
from farface.kernel import Missing
from farface.records import FilmScale

ROW_PX = 0.05  # px, at both ends of the frame; the goal is 0.3

WIDE = FilmTruth(
    scale=FilmScale(frame_hz=30_000.0, exposure_s=3e-6, pixel_m=20e-6, face_row_px=60.0),
    frames=16,
    width_px=320,
    height_px=192,
)


@pytest.mark.drawn_truth
@pytest.mark.parametrize("glass_grey", [90.0, 145.0, 175.0])
@pytest.mark.parametrize(("row_px", "slope"), [(60.37, 0.0), (52.8, 0.031), (95.5, -0.12)])
def test_face_is_found_at_both_ends(row_px: float, slope: float, glass_grey: float) -> None:
    scale = replace(WIDE.scale, face_row_px=row_px, face_slope=slope)
    truth = replace(WIDE, scale=scale, glass_grey=glass_grey, noise_grey=8.0)
    face = find_face(draw_film(truth, np.random.default_rng(3)))
    assert face.row_px == pytest.approx(row_px, abs=ROW_PX)
    assert face.row_px + 319 * face.slope == pytest.approx(row_px + 319 * slope, abs=ROW_PX)


@pytest.mark.drawn_truth
def test_a_bubble_that_stays_at_the_face_is_outvoted() -> None:
    bubble = TrueBubble(start_s=-1.0, along_m=3e-3, below_m=0.0, radius_max_m=5e-4, life_s=2.0)
    face = find_face(draw_film(replace(WIDE, bubbles=(bubble,)), np.random.default_rng(4)))
    assert face.row_px == pytest.approx(60.0, abs=ROW_PX)
    assert face.row_px + 319 * face.slope == pytest.approx(60.0, abs=ROW_PX)


def test_a_film_without_a_face_says_so() -> None:
    bare = replace(WIDE, glass_grey=175.0, face_grey=175.0)
    with pytest.raises(Missing, match="the far face was not found"):
        find_face(draw_film(bare, np.random.default_rng(5)))


def test_a_mere_step_from_dark_to_bright_is_no_line() -> None:
    step = replace(WIDE, glass_grey=80.0, face_grey=80.0)
    with pytest.raises(Missing):
        find_face(draw_film(step, np.random.default_rng(6)))
