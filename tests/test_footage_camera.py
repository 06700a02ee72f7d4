"""Hold the planning of films to closed forms and to what is common practice."""

import math
from dataclasses import replace
from pathlib import Path

import pytest

from demo_bench import demo_bench
from farface.app.camera import FilmWish, plan_film
from farface.app.settings import Typed
from farface.app.workbench import open_workbench
from farface.footage.camera_plan import beat_s, needs, offer
from farface.kernel import OutOfRange
from farface.records import Camera

CAMERA = Camera(frame_hz=30e3, exposure_s=12e-6, pixel_m=10e-6, width_px=320, height_px=192)
PRINTED_UM = 0.5  # um: half the last digit of 272


@pytest.mark.exact
def test_a_bubble_of_50_us() -> None:
    need = needs(life_s=50e-6, pixel_m=10e-6)
    assert 1e6 * need.radius_m == pytest.approx(272.0, abs=PRINTED_UM)
    assert need.frame_hz == pytest.approx(80e3)
    assert need.exposure_max_s == pytest.approx(10e-6 * 25e-6 / need.radius_m)
    assert need.pixel_max_m == pytest.approx(need.radius_m / 4.0)


@pytest.mark.exact
def test_what_a_camera_offers() -> None:
    offered = offer(CAMERA, needs(life_s=50e-6, pixel_m=10e-6), rate_hz=40e3, film_s=2.0)
    assert offered.life_in_frames == pytest.approx(1.5)
    assert offered.open_share == pytest.approx(0.36)
    assert offered.rows_at_need == 72
    assert offered.file_bytes == 60_000 * 320 * 192
    assert (offered.width_m, offered.height_m) == pytest.approx((3.2e-3, 1.92e-3))
    slow = replace(CAMERA, frame_hz=1e3)
    assert offer(slow, needs(life_s=50e-6, pixel_m=10e-6), rate_hz=40e3, film_s=1.0).rows_at_need == 0


@pytest.mark.common_practice
def test_frames_33_us_apart_meet_pulses_25_us_apart_again_after_100_us() -> None:
    assert beat_s(30e3, rate_hz=40e3) == pytest.approx(100e-6)


@pytest.mark.exact
@pytest.mark.parametrize(
    ("frame_hz", "rate_hz", "expected_s"),
    [(30e3, 30e3, math.inf), (80e3, 40e3, math.inf), (41e3, 20e3, 1e-3)],
)
def test_beats(frame_hz: float, rate_hz: float, expected_s: float) -> None:
    assert beat_s(frame_hz, rate_hz=rate_hz) == pytest.approx(expected_s)


def test_nothing_lives_no_time() -> None:
    with pytest.raises(OutOfRange, match="above zero"):
        needs(life_s=0.0, pixel_m=1e-5)


def test_the_plan_names_every_trade(tmp_path: Path) -> None:
    with open_workbench(demo_bench(tmp_path / "bench").folder) as work:
        answer = plan_film(work, FilmWish(length="2 s"), Typed(rate="40 kHz"))
        assert work.journal.all("camera")
        fast = plan_film(work, FilmWish(life="1 ms", exposure="33 us"), Typed(rate="20 kHz"))
        with pytest.raises(OutOfRange, match="the exposure"):
            plan_film(work, FilmWish(exposure="0 us"), Typed())
    said = " ".join(answer.sentences)
    for words in ("1.5 frames", "72 of its 192 rows", "no setting of the shutter", "36 % of the time"):
        assert words in said
    assert "3686 MB" in answer.tables[0].rows[-1][2]
    assert len(fast.sentences) == 2
    assert "needs 35.9 times the light" in fast.sentences[1]
