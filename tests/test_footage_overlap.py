"""Hold the taking apart of overlapping bubbles to drawn truth, by contrast and by how far they overlap."""

from dataclasses import replace

import numpy as np
import pytest

from farface.footage.background import learn_background
from farface.footage.components import find_patches
from farface.footage.discs import discs_of
from farface.footage.drawn import FilmTruth, TrueBubble, draw_film
from farface.records import FilmScale

PIXEL_M = 20e-6
SCALE = FilmScale(frame_hz=30_000.0, exposure_s=3e-6, pixel_m=PIXEL_M, face_row_px=20.0)
BARE = FilmTruth(scale=SCALE, frames=48, width_px=160, height_px=128)
PAIRS = 40

# By noise, grey of the bubbles, and distance over the sum of radii: least share of pairs that are read as two
# discs, both within a pixel of the true radius; rms error of their radii in px.
GOALS = [
    (3.0, 40.0, 0.6, 0.75, 0.05),
    (3.0, 40.0, 0.8, 0.98, 0.03),
    (3.0, 40.0, 1.05, 0.98, 0.02),
    (8.0, 143.0, 0.8, 0.55, 0.20),
    (8.0, 143.0, 1.05, 0.75, 0.15),
]


@pytest.mark.drawn_truth
@pytest.mark.parametrize(("noise_grey", "bubble_grey", "apart", "share", "rms_px"), GOALS)
def test_pairs_are_taken_apart(
    noise_grey: float, bubble_grey: float, apart: float, share: float, rms_px: float
) -> None:
    rng = np.random.default_rng(1)
    truth = replace(BARE, noise_grey=noise_grey, bubble_grey=bubble_grey)
    background = learn_background(draw_film(truth, rng), SCALE)
    errors_px = []
    for _ in range(PAIRS):
        wide = rng.uniform(6.0, 16.0)
        narrow = rng.uniform(max(5.0, 0.5 * wide), wide)
        turn = rng.uniform(0.0, 2.0 * np.pi)
        away = apart * (wide + narrow)
        pair = ((80.0, 75.0, wide), (80.0 + away * np.cos(turn), 75.0 + away * np.sin(turn), narrow))
        frame = draw_film(replace(truth, frames=1, bubbles=tuple(map(_bubble, pair))), rng)
        discs = discs_of(frame, background, find_patches(frame, background)[0])
        if len(discs) == 2:
            errors_px.append([_error_px(discs, *true) for true in pair])
    good = [pair for pair in errors_px if max(map(abs, pair)) < 1.0]
    assert len(good) / PAIRS >= share
    assert float(np.sqrt(np.mean(np.square(good)))) < rms_px


@pytest.mark.drawn_truth
@pytest.mark.parametrize(("noise_grey", "bubble_grey"), [(3.0, 40.0), (8.0, 143.0)])
def test_a_single_bubble_stays_one(noise_grey: float, bubble_grey: float) -> None:
    rng = np.random.default_rng(2)
    truth = replace(BARE, noise_grey=noise_grey, bubble_grey=bubble_grey)
    background = learn_background(draw_film(truth, rng), SCALE)
    for radius_px in np.linspace(4.0, 30.0, 40):
        one = replace(truth, frames=1, bubbles=(_bubble((80.0, 70.0, radius_px)),))
        frame = draw_film(one, rng)
        assert len(discs_of(frame, background, find_patches(frame, background)[0])) == 1


def _bubble(disc: tuple[float, float, float]) -> TrueBubble:
    column, row, radius = disc
    return TrueBubble(
        start_s=-1.0,
        along_m=column * PIXEL_M,
        below_m=(row - SCALE.face_row_px) * PIXEL_M,
        radius_max_m=radius * PIXEL_M,
        life_s=2.0,
    )


def _error_px(discs: np.ndarray, column: float, row: float, radius: float) -> float:
    nearest = min(discs, key=lambda disc: np.hypot(disc["column"] - column, disc["row"] - row))
    return float(nearest["radius"] - radius)
