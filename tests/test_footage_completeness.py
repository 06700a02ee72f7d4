"""Hold the estimated share of events found to the true one of drawn films, and corrected counts to sums."""

from dataclasses import replace

import numpy as np
import pytest

from farface.footage.completeness import (
    LEAST_SHARE,
    ShareFound,
    bubbles_found,
    corrected_count,
    flashes_found,
    smallest_shown_m,
)
from farface.footage.drawn import FilmTruth, TrueBubble, TrueFlash, draw_film, true_life_s
from farface.footage.inject import add_bubble, add_flash
from farface.footage.intervals import Bounded, count_bounds
from farface.footage.look import Look, look_of
from farface.footage.read import read_footage
from farface.kernel import Missing
from farface.records import FilmReading, FilmScale

SHARE = 0.03  # the goal: estimated share found against the true one, both of a thousand tries and more
ADDED_RMS_GREY = 1.0  # grey levels: rounding, and a blurred disc against a disc of normal edge
SUM = 1e-12

PIXEL_M = 20e-6
SCALE = FilmScale(frame_hz=30_000.0, exposure_s=8e-6, pixel_m=PIXEL_M, face_row_px=16.0, face_slope=0.02)
DEPTHS_M = (0.0, 2e-4, 5e-4, 9e-4)
NOISY = FilmTruth(
    scale=SCALE, frames=240, width_px=128, height_px=80, noise_grey=8.0, bubble_grey=120.0, vignetting=0.1
)
LOOK = Look(contrast_grey=52.0, edge_px=0.9, excess_grey=120.0, life_ratio=1.0, depths_m=DEPTHS_M)


def _bubbles(radius_px: float, count: int, rng: np.random.Generator) -> tuple[TrueBubble, ...]:
    film_s = NOISY.frames / SCALE.frame_hz
    return tuple(
        TrueBubble(
            start_s=rng.uniform(0.0, film_s),
            along_m=rng.uniform(0.0, 127.0) * PIXEL_M,
            below_m=rng.choice(DEPTHS_M),
            radius_max_m=radius_px * PIXEL_M,
        )
        for _ in range(count)
    )


def _is_read(true: TrueBubble, reading: FilmReading) -> bool:
    opens_s, closes_s = true.start_s, true.start_s + true_life_s(true)
    away_m = max(3.0 * PIXEL_M, 0.5 * true.radius_max_m)
    return any(
        np.hypot(b.along_m - true.along_m, b.below_m - true.below_m) < away_m
        and b.times_s[-1] > opens_s - 3e-5
        and b.times_s[0] < closes_s + 3e-5
        for b in reading.bubbles
    )


@pytest.fixture(scope="module")
def own() -> tuple[np.ndarray, FilmReading]:
    """The person's film: sparse bubbles of several sizes."""
    rng = np.random.default_rng(2)
    bubbles = tuple(b for radius_px in (6.0, 9.0, 14.0) for b in _bubbles(radius_px, 8, rng))
    frames = draw_film(replace(NOISY, bubbles=bubbles), rng)
    return frames, read_footage(frames, SCALE, "own")


@pytest.mark.drawn_truth
@pytest.mark.parametrize(
    "radius_px",
    [pytest.param(3.0, marks=pytest.mark.slow), 6.0, pytest.param(9.0, marks=pytest.mark.slow)],
)
def test_share_found_is_the_true_one(own: tuple[np.ndarray, FilmReading], radius_px: float) -> None:
    """Against drawn films of many bubbles; at these sizes about a quarter, a half and nine tenths show."""
    frames, reading = own
    look = replace(look_of(frames, reading), depths_m=DEPTHS_M)
    rng = np.random.default_rng(7)
    (found,) = bubbles_found(frames, SCALE, look, [radius_px * PIXEL_M], tries=1000, rng=rng)
    hits = tried = 0
    for _ in range(36):
        bubbles = _bubbles(radius_px, 26, rng)
        film = read_footage(draw_film(replace(NOISY, bubbles=bubbles), rng), SCALE, "true")
        hits, tried = hits + sum(_is_read(b, film) for b in bubbles), tried + len(bubbles)
    assert found.share.value == pytest.approx(hits / tried, abs=SHARE)


@pytest.mark.drawn_truth
def test_bright_flashes_are_found_while_the_shutter_is_open(own: tuple[np.ndarray, FilmReading]) -> None:
    (found,) = flashes_found(own[0], SCALE, LOOK, [6e-5], tries=1500, rng=np.random.default_rng(3))
    assert found.share.value == pytest.approx(SCALE.exposure_s * SCALE.frame_hz, abs=SHARE)


@pytest.mark.drawn_truth
def test_an_added_bubble_looks_like_a_drawn_one() -> None:
    quiet = replace(NOISY, noise_grey=0.0, frames=6, vignetting=0.0)
    bubble = TrueBubble(start_s=2e-5, along_m=60 * PIXEL_M, below_m=6e-4, radius_max_m=2.2e-4, life_s=1.4e-4)
    drawn = draw_film(replace(quiet, bubbles=(bubble,)), np.random.default_rng(0)).astype(float)
    added = draw_film(quiet, np.random.default_rng(0))
    add_bubble(added, SCALE, bubble, contrast_grey=55.0, edge_px=quiet.blur_px)
    near = drawn[:, 25:, 40:80] - added[:, 25:, 40:80]
    assert np.sqrt(np.mean(near**2)) < ADDED_RMS_GREY
    assert drawn.min() < 130.0


@pytest.mark.exact
def test_an_added_flash_lights_the_open_frame_only() -> None:
    frames = np.full((5, 40, 40), 100, dtype=np.uint8)
    flash = TrueFlash(time_s=2 / 3e4 + 4e-6, along_m=20 * PIXEL_M, below_m=1e-4, radius_m=1e-4)
    add_flash(frames, SCALE, flash, excess_grey=120.0, edge_px=1.0)
    assert [int(frame.max()) for frame in frames] == [100, 100, 220, 100, 100]
    add_flash(frames, SCALE, replace(flash, time_s=1 / 3e4 + 2e-5), excess_grey=120.0, edge_px=1.0)
    assert int(frames[1].max()) == 100


def _share(radius_m: float, value: float) -> ShareFound:
    return ShareFound(
        radius_m=radius_m, tried=100, share=Bounded(value=value, low=0.9 * value, high=min(1.0, 1.1 * value))
    )


@pytest.mark.exact
def test_smallest_shown_lies_where_half_are_found() -> None:
    rising = [_share(1e-5, 0.1), _share(4e-5, 0.9), _share(8e-5, 1.0)]
    assert smallest_shown_m(rising) == pytest.approx(2e-5)
    assert smallest_shown_m(rising[1:]) == 4e-5
    assert smallest_shown_m(rising[:1]) is None


@pytest.mark.exact
def test_a_corrected_count_sums_what_each_event_stands_for() -> None:
    shares = [_share(1e-5, 0.01), _share(4e-5, 0.5), _share(8e-5, 1.0)]
    corrected = corrected_count([4e-5, 4e-5, 8e-5, 9e-5], shares)
    assert corrected.value == pytest.approx(6.0, abs=SUM)
    low, high = count_bounds(4)
    assert corrected.low <= 6.0 * low / 4.0
    assert corrected.high >= 6.0 * high / 4.0
    assert corrected_count([1e-6], shares).value == pytest.approx(1.0 / LEAST_SHARE)
    assert corrected_count([], shares).value == 0.0


def test_too_short_a_piece_says_so() -> None:
    with pytest.raises(Missing, match="Give more frames"):
        bubbles_found(
            np.full((8, 40, 40), 150, np.uint8), SCALE, LOOK, [5e-3], tries=3, rng=np.random.default_rng(0)
        )
