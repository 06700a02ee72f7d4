"""Hold the reading of drifting, flickering and dirty films to what it makes of flawless ones."""

from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from farface.footage.background import learn_background
from farface.footage.drawn import FilmTruth, TrueBubble, TrueFlash, draw_film, true_life_s
from farface.footage.drawn_flaws import Flaws, Speck, StuckPixel, dirt_share, lamp_share
from farface.footage.lamp import even_out, light_ratio, slow_change_grey
from farface.footage.read import read_footage
from farface.records import FilmReading, FilmScale

RADIUS_MAX = 0.02  # relative, as on a flawless film
LIFE_FRAMES = 0.5
RATIO = 0.003  # relative: median of a grid of pixels, each rounded to a grey level
ROUNDED_GREY = 1.5  # grey levels: rounded before and after the division
CHANGE_GREY = 0.5  # grey levels: noise of 4 over 8 frames, smoothed

PIXEL_M = 20e-6
SCALE = FilmScale(frame_hz=30_000.0, exposure_s=5e-6, pixel_m=PIXEL_M, face_row_px=24.0)


def _film() -> FilmTruth:
    """Bubbles one after another, in turns along the face, none in the way of another."""
    rng = np.random.default_rng(4)
    bubbles = tuple(
        TrueBubble(
            start_s=3e-4 * k + rng.uniform(0.0, 3e-5),
            along_m=(20 + 24 * (k % 6)) * PIXEL_M,
            below_m=(0.0, 6e-4)[k % 2],
            radius_max_m=rng.uniform(1.8e-4, 4e-4),
            life_s=rng.uniform(1.2e-4, 2.4e-4),
        )
        for k in range(22)
    )
    return FilmTruth(
        scale=SCALE,
        frames=210,
        width_px=160,
        height_px=96,
        bubbles=bubbles,
        noise_grey=4.0,
        bubble_grey=125.0,
    )


def _dirt() -> tuple[Speck, ...]:
    rng = np.random.default_rng(6)
    return tuple(
        Speck(
            column_px=float(column), row_px=float(rng.uniform(34, 92)), radius_px=float(rng.uniform(1.5, 5.0))
        )
        for column in rng.uniform(0.0, 159.0, 10)
    )


def _stuck() -> tuple[StuckPixel, ...]:
    rng = np.random.default_rng(7)
    return tuple(
        StuckPixel(column=int(rng.integers(160)), row=int(rng.integers(96)), level=level)
        for level in [0, 255] * 15
    )


FLAWS = {
    "none": Flaws(),
    "drift": Flaws(drift_share=-0.35),
    "one side darkens": Flaws(tilt_share=-0.3),
    "flicker": Flaws(flicker_share=0.15, flicker_hz=400.0),
    "dirt": Flaws(dirt=_dirt()),
    "stuck pixels": Flaws(stuck=_stuck()),
    "all": Flaws(
        drift_share=-0.2,
        tilt_share=0.1,
        flicker_share=0.1,
        flicker_hz=300.0,
        dirt=_dirt(),
        stuck=_stuck(),
    ),
}


@pytest.mark.drawn_truth
@pytest.mark.parametrize("flaws", FLAWS.values(), ids=FLAWS)
def test_flaws_change_neither_count_nor_size_nor_life(flaws: Flaws) -> None:
    truth = replace(_film(), flaws=flaws)
    reading = read_footage(draw_film(truth, np.random.default_rng(1)), SCALE, "drawn")
    assert reading.stopped is None
    assert reading.flashes == ()
    assert len(reading.bubbles) == len(truth.bubbles)
    for true, found in zip(truth.bubbles, reading.bubbles, strict=True):
        assert found.along_m == pytest.approx(true.along_m, abs=PIXEL_M)
        assert found.radius_max_m == pytest.approx(true.radius_max_m, rel=RADIUS_MAX)
        assert abs(found.life_s - true_life_s(true)) * SCALE.frame_hz < LIFE_FRAMES


@pytest.mark.drawn_truth
def test_without_evening_out_a_flickering_film_is_not_read(monkeypatch: pytest.MonkeyPatch) -> None:
    """So that the test above holds the evening out, and not the reading's patience."""
    monkeypatch.setattr("farface.footage.see.even_out", lambda frames, light_ratio, typical_grey: frames)
    truth = replace(_film(), flaws=FLAWS["flicker"])
    reading = read_footage(draw_film(truth, np.random.default_rng(1)), SCALE, "drawn")
    assert not _reads_all(reading, truth)


def _reads_all(reading: FilmReading, truth: FilmTruth) -> bool:
    return reading.stopped is None and len(reading.bubbles) == len(truth.bubbles)


@pytest.mark.drawn_truth
def test_flashes_are_read_where_noise_comes_near_white() -> None:
    flash = TrueFlash(time_s=100 / 3e4 + 2e-6, along_m=1.5e-3, below_m=3e-4, radius_m=1e-4)
    truth = replace(_film(), bubbles=(), flashes=(flash,), noise_grey=16.0)
    reading = read_footage(draw_film(truth, np.random.default_rng(1)), SCALE, "drawn")
    assert len(reading.flashes) == 1


def test_a_camera_that_moved_stops_the_reading() -> None:
    pattern = np.full((96, 160), 150, dtype=np.uint8)
    moved = np.random.default_rng(0).integers(0, 256, pattern.shape).astype(np.uint8)
    reading = read_footage([pattern] * 128 + [moved] * 64, SCALE, "drawn")
    assert reading.frames == 128
    assert reading.stopped is not None
    assert "the camera moved" in reading.stopped


@pytest.mark.exact
@pytest.mark.parametrize("ratio", [0.7, 0.95, 1.2])
def test_light_is_measured_and_divided_out(ratio: float) -> None:
    empty = np.linspace(60.0, 180.0, 96 * 160, dtype=np.float32).reshape(96, 160)
    frames = np.stack([empty, empty * ratio]).round().astype(np.uint8)
    frames[1, 20:60, 30:90] = 5  # a bubble
    frames[1, 0, 0] = 255  # a flash
    ratios = light_ratio(frames, empty)
    assert ratios == pytest.approx([1.0, ratio], rel=RATIO)
    evened = even_out(frames, ratios, 120.0)
    assert np.max(np.abs(evened[1, 60:].astype(float) - empty[60:])) <= ROUNDED_GREY
    assert evened[1, 0, 0] == 255
    assert even_out(frames[:1], ratios[:1], 120.0) is not None


def test_steady_frames_are_passed_on_as_they_are() -> None:
    frames = np.full((9, 40, 40), 120, dtype=np.uint8)
    assert even_out(frames, np.full(9, 1.002), 120.0) is frames


@pytest.mark.drawn_truth
def test_slow_change_is_followed_smoothly_past_dirt_and_bubbles() -> None:
    truth = replace(_film(), bubbles=(), vignetting=0.0, frames=64)
    rng = np.random.default_rng(5)
    empty = learn_background(draw_film(truth, rng), SCALE).grey
    slope_grey = 6.0 * np.linspace(0.0, 1.0, 160)[None, :]
    later = draw_film(truth, rng) + np.rint(slope_grey + rng.random((64, 96, 160)) - 0.5)
    later[:, 50:62, 70:90] = 30.0  # a bubble that stays
    change = slow_change_grey(later.astype(np.uint8), empty)
    assert change is not None
    assert np.max(np.abs(change - slope_grey)[:, 20:140]) < 3.0 * CHANGE_GREY
    assert np.sqrt(np.mean((change - slope_grey)[:, 20:140] ** 2)) < CHANGE_GREY
    assert slow_change_grey(draw_film(truth, rng), empty) is None


@pytest.mark.exact
def test_drawn_flaws_are_as_stated() -> None:
    flaws = Flaws(drift_share=-0.2, tilt_share=0.1, dirt=(Speck(column_px=9.0, row_px=9.0, radius_px=4.0),))
    lamp = lamp_share(flaws, time_s=0.5, film_s=1.0, width_px=5)
    assert lamp == pytest.approx([0.9, 0.9125, 0.925, 0.9375, 0.95])
    through = dirt_share(flaws, shape=(20, 20))
    assert (through[9, 9], through[0, 0]) == pytest.approx((0.3, 1.0))


@pytest.mark.drawn_truth
def test_dirt_and_stuck_pixels_are_not_used(own: NDArray[np.uint8]) -> None:
    clean = learn_background(draw_film(replace(_film(), frames=32), np.random.default_rng(2)), SCALE)
    background = learn_background(own, SCALE)
    for speck in _dirt():
        assert background.usable[round(speck.row_px), round(speck.column_px)] == 0
    for pixel in _stuck():
        assert background.usable[pixel.row, pixel.column] == 0
    lost = int(clean.usable.sum()) - int(background.usable.sum())
    assert lost < 10 * 13.0**2 + 30 * 9
    assert clean.usable[30:].all()


@pytest.fixture(scope="module")
def own() -> NDArray[np.uint8]:
    return draw_film(replace(_film(), frames=32, flaws=FLAWS["all"]), np.random.default_rng(2))
