"""Hold columns, rebounds, debris and mirror images to drawn truth."""

from dataclasses import replace

import numpy as np
import pytest

from farface.footage.drawn import FilmTruth, TrueBubble, TrueColumn, draw_film
from farface.footage.events import FilmEvents
from farface.footage.read import read_events
from farface.records import FilmScale

LENGTH_PX = 1.5  # px: rows are whole, and a soft end is seen a little beyond its middle
WIDTH = 0.08  # relative: the round end is counted in
RADIUS = 0.03  # relative
PIXEL_M = 20e-6
SCALE = FilmScale(frame_hz=30_000.0, exposure_s=3e-6, pixel_m=PIXEL_M, face_row_px=40.3, face_slope=0.01)
BARE = FilmTruth(scale=SCALE, frames=120, width_px=200, height_px=160, noise_grey=4.0)


def _read(truth: FilmTruth) -> FilmEvents:
    return read_events(draw_film(truth, np.random.default_rng(1)), truth.scale, "drawn")


def _bubble(start_frame: float, column: float, row: float, radius: float, frames: float) -> TrueBubble:
    return TrueBubble(
        start_s=start_frame / SCALE.frame_hz,
        along_m=column * PIXEL_M,
        below_m=(row - SCALE.face_row_px) * PIXEL_M,
        radius_max_m=radius * PIXEL_M,
        life_s=frames / SCALE.frame_hz,
    )


@pytest.mark.drawn_truth
def test_columns_are_measured_and_are_no_bubbles() -> None:
    columns = tuple(
        TrueColumn(
            start_s=(6 + 14 * k) / SCALE.frame_hz,
            along_m=(30 + 20 * k) * PIXEL_M,
            width_m=(8 + 2 * k) * PIXEL_M,
            length_max_m=(50 + 9 * k) * PIXEL_M,
            life_s=9 / SCALE.frame_hz,
        )
        for k in range(6)
    )
    events = _read(replace(BARE, columns=columns))
    assert len(events.columns) == len(columns)
    assert events.reading.bubbles == ()
    for true, found in zip(columns, events.columns, strict=True):
        assert found.along_m == pytest.approx(true.along_m, abs=2 * PIXEL_M)
        assert found.width_m == pytest.approx(true.width_m, rel=WIDTH)
        assert found.length_max_m <= true.length_max_m + LENGTH_PX * PIXEL_M
        assert found.length_max_m > 0.97 * true.length_max_m - LENGTH_PX * PIXEL_M


@pytest.mark.drawn_truth
def test_half_bubbles_are_no_columns() -> None:
    halves = tuple(_bubble(5 + 12 * k, 30.0 + 20 * k, 40.3, 8.0 + 3 * k, 8.0) for k in range(8))
    events = _read(replace(BARE, bubbles=halves))
    assert events.columns == ()
    assert len(events.reading.bubbles) == 8


@pytest.mark.drawn_truth
def test_a_rebound_is_kept_with_its_bubble() -> None:
    first, again = _bubble(10.0, 100.0, 100.0, 20.0, 8.0), _bubble(18.2, 100.0, 100.0, 9.0, 5.0)
    events = _read(replace(BARE, bubbles=(first, again)))
    assert len(events.reading.bubbles) == len(events.rebounds) == 1
    (rebound,) = events.rebounds
    assert rebound.bubble_radius_m == pytest.approx(first.radius_max_m, rel=RADIUS)
    assert rebound.rebound_radius_m == pytest.approx(again.radius_max_m, rel=RADIUS)


@pytest.mark.drawn_truth
def test_what_lasts_is_no_bubble() -> None:
    """A speck that stays longer than the background is learnt: it comes later and does not change."""
    film = draw_film(replace(BARE, frames=240), np.random.default_rng(2))
    rows, columns = np.mgrid[0:160, 0:200]
    speck = np.hypot(rows - 100.0, columns - 80.0) < 6.0
    film[130:, speck] = 60
    events = read_events(film, SCALE, "drawn")
    assert events.reading.bubbles == ()
    assert len(events.lasting) == 1
    assert events.lasting[0].first_s == pytest.approx(130 / SCALE.frame_hz, abs=1.0 / SCALE.frame_hz)


@pytest.mark.drawn_truth
@pytest.mark.parametrize("below_px", [0.0, 8.0, 16.0])
def test_mirror_images_are_seen_and_never_read(below_px: float) -> None:
    bubbles = tuple(_bubble(6 + 12 * k, 30.0 + 17 * k, 41.0 + below_px, 16.0, 8.0) for k in range(9))
    plain, mirrored = (
        _read(replace(BARE, bubbles=bubbles, mirror_share=share, frames=130)) for share in (0.0, 0.6)
    )
    assert plain.mirrored_share == pytest.approx(0.0, abs=0.05)
    assert mirrored.mirrored_share is not None
    assert mirrored.mirrored_share > 0.9
    assert len(mirrored.reading.bubbles) == len(plain.reading.bubbles) == 9
    for with_image, without in zip(mirrored.reading.bubbles, plain.reading.bubbles, strict=True):
        assert with_image.radius_max_m == pytest.approx(without.radius_max_m, rel=RADIUS)


@pytest.mark.exact
def test_threads_change_nothing() -> None:
    bubbles = tuple(_bubble(3.0 * k, 20.0 + 4 * k, 100.0, 10.0, 4.0) for k in range(38))
    film = draw_film(replace(BARE, bubbles=bubbles, frames=400), np.random.default_rng(3))
    assert read_events(film, SCALE, "drawn", threads=3) == read_events(film, SCALE, "drawn", threads=1)
