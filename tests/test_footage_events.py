"""Hold the joining of frames into flashes and bubbles, and their lives, to hand-made and drawn truth."""

from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from farface.footage.components import PATCH
from farface.footage.discs import DISC
from farface.footage.drawn import FilmTruth, TrueBubble, TrueFlash, draw_frames, true_life_s
from farface.footage.flashes import link_flashes
from farface.footage.life import Cycle, cycles, measure_life
from farface.footage.read import read_footage
from farface.footage.runs import BRIGHT, DARK
from farface.footage.tracks import link_bubbles
from farface.kernel import Malformed, Missing
from farface.materials.bubble_life import radius_share
from farface.records import Bubble, FilmReading, FilmScale

SCALE = FilmScale(frame_hz=30_000.0, exposure_s=3e-6, pixel_m=20e-6, face_row_px=40.3, face_slope=0.01)
FRAME_S = 1.0 / SCALE.frame_hz
PIXEL_M = SCALE.pixel_m

LIFE_FRAMES = 0.5  # frames: the goal for any life
LIFE_FITTED_FRAMES = 0.25  # frames, from three frames up: the curve differs from a parabola by 1 %
RADIUS_MAX = 0.02  # relative, from three frames up
PLACE_M = 10e-6  # m: half a pixel
FLASH_PLACE_M = 20e-6  # m: a pixel; a bubble behind a flash shifts its soft edge
CURVE_LIFE = 0.02  # relative: the parabola against Rayleigh's own curve, no noise
CURVE_RADIUS = 0.01


def _patches(*rows: tuple[int, int, float, float, int, float]) -> NDArray[np.void]:
    """Make patches of (frame, kind, column, row, pixels, excess)."""
    table = np.zeros(len(rows), dtype=PATCH)
    for patch, values in zip(table, rows, strict=True):
        for name, value in zip(("frame", "kind", "column", "row", "pixels", "excess"), values, strict=True):
            patch[name] = value
    return table


def test_flash_over_frames_is_one_and_elsewhere_another() -> None:
    patches = _patches(
        (3, BRIGHT, 50.0, 60.3, 30, 2e3),
        (3, DARK, 52.0, 60.0, 90, -9e3),
        (4, BRIGHT, 51.0, 61.3, 40, 3e3),
        (4, BRIGHT, 150.0, 60.0, 20, 1e3),
        (6, BRIGHT, 51.0, 61.3, 10, 5e2),
    )
    first, elsewhere, later = link_flashes(patches, replace(SCALE, face_slope=0.0))
    assert (first.frames_lit, elsewhere.frames_lit, later.frames_lit) == (2, 1, 1)
    assert first.time_s == pytest.approx(3 * FRAME_S + 1.5e-6)
    assert first.brightness == 3e3
    assert first.area_m2 == pytest.approx(40 * PIXEL_M**2)
    assert (first.along_m, first.below_m) == pytest.approx((51.0 * PIXEL_M, 21.0 * PIXEL_M))


def _discs(*rows: tuple[int, float, float, float]) -> NDArray[np.void]:
    """Make discs of (frame, column, row, radius)."""
    return np.array([(*row, 100.0, 1.0) for row in rows], dtype=DISC)


def test_neighbours_are_told_apart_and_a_gap_of_one_frame_is_bridged() -> None:
    early = ((5, 50.0, 80.0, 6.0), (5, 58.0, 80.0, 6.0), (6, 51.0, 80.0, 8.0), (6, 58.5, 80.0, 8.0))
    late_ones = ((7, 50.5, 80.0, 7.0), (8, 58.0, 80.0, 7.0), (11, 50.0, 80.0, 5.0))
    bubbles = link_bubbles(_discs(*early, *late_ones), SCALE).bubbles
    found = sorted(bubbles, key=lambda bubble: (bubble.along_m, bubble.first_s))
    left, late, right = found[1], found[0], found[2]
    assert [len(bubble.radii_m) for bubble in (left, late, right)] == [3, 1, 3]
    assert right.times_s == pytest.approx([k * FRAME_S + 1.5e-6 for k in (5, 6, 8)])


def test_a_bubble_in_the_place_of_the_last_is_a_new_one_and_a_rebound_is_not() -> None:
    twice = np.array([6.0, 9.0, 8.0, 4.0, 8.0, 10.0, 7.0])
    assert cycles(twice) == (Cycle(life=slice(0, 4)), Cycle(life=slice(4, 7)))
    rebound = np.array([6.0, 9.0, 8.0, 2.0, 4.0, 3.0])
    assert cycles(rebound) == (Cycle(life=slice(0, 4), rebounds=(slice(4, 6),)),)
    shallow = np.array([6.0, 9.0, 7.5, 8.8, 6.0])
    assert cycles(shallow) == (Cycle(life=slice(0, 5)),)
    assert cycles(np.array([3.0])) == (Cycle(life=slice(0, 1)),)


@pytest.mark.exact
@pytest.mark.parametrize("frames", [3, 4, 6, 12])
@pytest.mark.parametrize("offset", [0.1, 0.35, 0.5, 0.8])
def test_life_and_size_of_rayleighs_own_curve(frames: int, offset: float) -> None:
    """Sample the exact collapse, ``frames`` times in a life, first seen ``offset`` frames after opening."""
    phase = (np.arange(frames) + offset) / frames
    life = measure_life(phase * frames * FRAME_S, 20.0 * radius_share(phase), frame_s=FRAME_S)
    assert life.life_s == pytest.approx(frames * FRAME_S, rel=CURVE_LIFE)
    assert life.opened_s == pytest.approx(0.0, abs=CURVE_LIFE * frames * FRAME_S)
    assert life.radius_max_m == pytest.approx(20.0, rel=CURVE_RADIUS)


@pytest.mark.exact
def test_one_or_two_frames_are_counted() -> None:
    assert measure_life(np.array([1.0]), np.array([5.0]), frame_s=0.5).life_s == 0.5
    life = measure_life(np.array([1.0, 1.5]), np.array([5.0, 7.0]), frame_s=0.5)
    assert (life.life_s, life.radius_max_m, life.opened_s) == (1.0, 7.0, 0.75)


def _film() -> FilmTruth:
    rng = np.random.default_rng(5)
    bubbles = tuple(
        TrueBubble(
            start_s=k * 3.1e-4 + rng.uniform(0.0, FRAME_S),
            along_m=rng.uniform(0.7e-3, 5.7e-3),
            below_m=0.0 if k % 4 == 0 else rng.uniform(0.7e-3, 2.2e-3),
            radius_max_m=rng.uniform(0.2e-3, 0.55e-3),
            life_s=rng.uniform(2.2, 7.0) * FRAME_S,
        )
        for k in range(40)
    )
    flashes = tuple(
        TrueFlash(time_s=k * 1.9e-4, along_m=rng.uniform(0.5e-3, 6e-3), below_m=1e-4, radius_m=8e-5)
        for k in range(60)
    )
    scale = replace(SCALE, exposure_s=10e-6)
    return FilmTruth(
        scale=scale, frames=390, width_px=320, height_px=192, bubbles=bubbles, flashes=flashes, noise_grey=4.0
    )


@pytest.fixture(scope="module")
def film() -> FilmTruth:
    return _film()


@pytest.fixture(scope="module")
def reading(film: FilmTruth) -> FilmReading:
    return read_footage(draw_frames(film, np.random.default_rng(8)), film.scale, "drawn")


@pytest.mark.drawn_truth
def test_every_flash_that_an_open_shutter_saw_is_read(film: FilmTruth, reading: FilmReading) -> None:
    seen = [f for f in film.flashes if (f.time_s * film.scale.frame_hz) % 1.0 < 10e-6 / FRAME_S]
    assert 10 < len(seen) < 30
    assert len(reading.flashes) == len(seen)
    for flash, true in zip(reading.flashes, seen, strict=True):
        assert abs(flash.time_s - true.time_s) <= 5e-6
        assert (flash.along_m, flash.below_m) == pytest.approx(
            (true.along_m, true.below_m), abs=FLASH_PLACE_M
        )


@pytest.mark.drawn_truth
def test_lives_places_and_sizes_of_bubbles(film: FilmTruth, reading: FilmReading) -> None:
    """Hold every bubble that no other bubble and no flash crosses in the picture."""
    pairs = [(true, _match(true, reading)) for true in film.bubbles]
    pairs = [(true, found) for true, found in pairs if not _crossed(true, film)]
    assert len(pairs) > 30
    for true, found in pairs:
        assert found is not None
        error_frames = abs(found.life_s - true_life_s(true)) / FRAME_S
        assert error_frames < (LIFE_FITTED_FRAMES if len(found.radii_m) > 2 else LIFE_FRAMES)
        if len(found.radii_m) > 2:
            assert found.radius_max_m == pytest.approx(true.radius_max_m, rel=RADIUS_MAX)
        assert found.along_m == pytest.approx(true.along_m, abs=PLACE_M)
        assert found.below_m == pytest.approx(true.below_m, abs=2 * PLACE_M)


def test_reading_counts_frames_and_tells_the_true_time(film: FilmTruth, reading: FilmReading) -> None:
    assert (reading.frames, reading.stopped) == (390, None)
    assert reading.duration_s == pytest.approx(390 / 30_000)


@pytest.mark.parametrize(
    ("frames", "error", "words"),
    [
        ([], Malformed, "no frames"),
        ([np.zeros((8, 8), np.uint8)] * 5, Missing, "at least 8"),
        ([np.zeros((8, 8), np.uint8), np.zeros((8, 9), np.uint8)], Malformed, r"shape \(8, 9\)"),
        ([np.zeros((8, 8), np.uint16)] * 9, Malformed, "uint16"),
        ([np.zeros((8, 8, 3), np.uint8)] * 9, Malformed, "grey frames"),
    ],
)
def test_frames_that_cannot_be_read(
    frames: list[NDArray[np.uint8]], error: type[Exception], words: str
) -> None:
    with pytest.raises(error, match=words):
        read_footage(frames, SCALE, "bad.mp4")


def _match(true: TrueBubble, reading: FilmReading) -> Bubble | None:
    near = [
        bubble
        for bubble in reading.bubbles
        if abs(bubble.along_m - true.along_m) < 1e-4
        and abs(bubble.below_m - true.below_m) < 1e-4
        and true.start_s - FRAME_S < bubble.first_s < true.start_s + true_life_s(true)
    ]
    return near[0] if len(near) == 1 else None


def _crossed(true: TrueBubble, film: FilmTruth) -> bool:
    opens_s, closes_s = true.start_s - FRAME_S, true.start_s + true_life_s(true) + FRAME_S
    reach_m = true.radius_max_m + 6 * PIXEL_M
    by_bubble = any(
        other is not true
        and other.start_s < closes_s
        and opens_s < other.start_s + true_life_s(other)
        and np.hypot(other.along_m - true.along_m, other.below_m - true.below_m)
        < other.radius_max_m + reach_m
        for other in film.bubbles
    )
    by_flash = any(
        opens_s < flash.time_s < closes_s
        and np.hypot(flash.along_m - true.along_m, flash.below_m - true.below_m) < flash.radius_m + reach_m
        for flash in film.flashes
    )
    return by_bubble or by_flash
