"""Read a drawn film into the journal as a person would, and look at all that comes of it."""

from pathlib import Path

import numpy as np
import polars
import pytest

from demo_bench import demo_bench
from farface.app.answer import Answer
from farface.app.coupon import lay_out_coupon
from farface.app.coupon_order import CouponOrder
from farface.app.film_scale import FilmTyped, face_line, pixel_m
from farface.app.footage import take_film
from farface.app.settings import Typed
from farface.app.workbench import open_workbench
from farface.files.film import open_film
from farface.files.film_write import write_film
from farface.footage.annotate import DARK, LIGHT, annotated
from farface.footage.drawn import FilmTruth, TrueBubble, TrueColumn, TrueFlash, draw_film
from farface.footage.read import read_footage
from farface.kernel import FarfaceError, Malformed, Missing
from farface.records import FilmScale

SCALE = FilmScale(frame_hz=30_000.0, exposure_s=12e-6, pixel_m=10e-6, face_row_px=30.0)
TRUTH = FilmTruth(
    scale=SCALE,
    frames=200,
    width_px=160,
    height_px=96,
    bubbles=tuple(
        TrueBubble(start_s=(5 + 12 * k) / 3e4, along_m=(20 + 9 * k) * 1e-5, below_m=2.5e-4,
                   radius_max_m=1.4e-4, life_s=2e-4)
        for k in range(13)
    ),
    flashes=tuple(
        TrueFlash(time_s=(20 + 30 * k) / 3e4 + 4e-6, along_m=1e-3, below_m=2e-5, radius_m=4e-5)
        for k in range(6)
    ),
    columns=(
        TrueColumn(start_s=165 / 3e4, along_m=3e-4, width_m=1e-4, length_max_m=5e-4, life_s=4e-4),
    ),
)  # fmt: skip


@pytest.fixture(scope="module")
def taken(tmp_path_factory: pytest.TempPathFactory) -> tuple[Answer, Path]:
    bench = demo_bench(tmp_path_factory.mktemp("footage") / "bench")
    film = bench.films / "steady.mp4"
    write_film(film, draw_film(TRUTH, np.random.default_rng(1)), 25.0)
    with open_workbench(bench.folder) as work:
        answer = take_film(work, film, FilmTyped(), Typed(energy="300 uJ", rate="40 kHz"), plate="P1")
        roles = {item.role for record in work.journal.all("footage") for item in record.inputs}
    assert {"film", "events"} <= roles
    return answer, bench.reports


@pytest.mark.drawn_truth
def test_tables_hold_every_event_in_si(taken: tuple[Answer, Path]) -> None:
    reports = taken[1]
    bubbles = polars.read_parquet(reports / "steady-invented-data-bubbles.parquet")
    assert bubbles.height == 13
    assert bubbles["radius_max_m"].to_numpy() == pytest.approx(1.4e-4, rel=0.02)
    assert polars.read_csv(reports / "steady-invented-data-bubbles.csv").columns == bubbles.columns
    assert polars.read_parquet(reports / "steady-invented-data-flashes.parquet").height == 6
    assert polars.read_parquet(reports / "steady-invented-data-columns.parquet").height == 1
    radii = polars.read_csv(reports / "steady-invented-data-radii.csv")
    assert set(radii["bubble"].unique()) == set(range(13))
    assert not (reports / "steady-invented-data-rebounds.csv").exists()


def test_the_answer_says_what_is_missed_and_in_which_regime(taken: tuple[Answer, Path]) -> None:
    answer = taken[0]
    assert {table.caption for table in answer.tables} == {
        "What the film shows", "What the film misses", "Regime (not calibrated)",
    }  # fmt: skip
    assert any("1 vapour column" in said for said in answer.sentences)
    assert sum(answer.data["regime_odds"].values()) == pytest.approx(1.0)
    missed = answer.data["missed"]
    assert missed["bubble_count"]["value"] >= 13.0
    # The shutter is open 36 % of the time: sixteen or so flashes for six seen.
    assert missed["flash_rate_hz"]["value"] == pytest.approx(6 / 0.36 / (200 / 3e4), rel=0.25)


def test_the_marked_film_is_as_long_as_the_film(taken: tuple[Answer, Path]) -> None:
    film = open_film(taken[1] / "steady-invented-data-marked.mp4")
    assert sum(1 for _ in film.frames()) == 200


def test_marks_lie_where_the_bubbles_are() -> None:
    frames = draw_film(TRUTH, np.random.default_rng(1))
    reading = read_footage(frames, SCALE, "drawn")
    marked = list(annotated(frames, reading))
    bubble = reading.bubbles[2]
    number = round((bubble.times_s[2] - 6e-6) * 3e4)
    column, row = bubble.along_m / 1e-5, 30.0 + bubble.below_m / 1e-5
    at = (round(row), round(column + bubble.radii_m[2] / 1e-5))
    assert marked[number][at] == LIGHT
    assert (marked[number] != frames[number]).sum() < 400
    flash = reading.flashes[0]
    number = round((flash.time_s - 6e-6) * 3e4)
    assert marked[number][round(30.0 + flash.below_m / 1e-5), round(flash.along_m / 1e-5)] == DARK


@pytest.mark.exact
@pytest.mark.parametrize(
    ("text", "expected_m"),
    [
        ("10 um", 1e-5),
        ("20 um / 2", 1e-5),
        ("2 mm = 200 px", 1e-5),
        ("0.5 mm = 100,50 to 130,90", 1e-5),
        ("0.5 mm = 100.5,50 to 70.5, 10", 1e-5),
    ],
)
def test_the_scale_is_typed_in_four_ways(text: str, expected_m: float) -> None:
    assert pixel_m(text) == pytest.approx(expected_m)


@pytest.mark.parametrize("text", ["0 um", "2 mm = 0 px", "2 mm = 5,5 to 5,5", "2 mm = many px", "20 um / 0"])
def test_a_scale_that_is_none(text: str) -> None:
    with pytest.raises(FarfaceError, match="the size of a pixel"):
        pixel_m(text)


@pytest.mark.exact
def test_the_face_is_typed_by_its_rows() -> None:
    assert face_line("60.5", width_px=320) == (60.5, 0.0)
    assert face_line("60.5 to 63.69", width_px=320) == pytest.approx((60.5, 0.01))
    with pytest.raises(Malformed, match="no row"):
        face_line("top", width_px=320)


@pytest.mark.drawn_truth
def test_a_picture_with_the_glass_below_reads_the_same(tmp_path: Path) -> None:
    bench = demo_bench(tmp_path / "bench")
    film = bench.films / "turned.npy"
    np.save(film, draw_film(TRUTH, np.random.default_rng(1))[:, ::-1])
    camera = FilmTyped(face="30.0", glass_below=True)
    with open_workbench(bench.folder) as work:
        answer = take_film(work, film, camera, Typed(energy="300 uJ", rate="40 kHz"), plate="P1")
    assert answer.data["reading"]["scale"]["face_row_px"] == 30.0
    assert len(answer.data["reading"]["bubbles"]) == 13
    assert len(answer.data["reading"]["flashes"]) == 6


def test_a_film_of_a_coupon_cell_takes_its_setting_and_names_its_coupon(tmp_path: Path) -> None:
    bench = demo_bench(tmp_path / "bench")
    film = bench.films / "cell.npy"
    np.save(film, draw_film(TRUTH, np.random.default_rng(1)))
    with open_workbench(bench.folder) as work:
        lay_out_coupon(work, Typed(), CouponOrder(name="P7", levels=2))
        coupon = work.journal.latest("coupon")
        assert coupon is not None
        cell = coupon.body["data"]["coupon"]["cells"][1]
        answer = take_film(work, film, FilmTyped(face="30"), Typed(), plate="P7", cell=cell["label"])
        assert answer.data["setting"] == cell["setting"]
        assert answer.title.startswith(f"Film cell.npy, at cell {cell['label']} of P7, ")
        (kept,) = work.journal.all("footage")
        assert coupon.id in {item.record for item in kept.inputs}
        with pytest.raises(Missing, match="no cell Z9, but "):
            take_film(work, film, FilmTyped(face="30"), Typed(), plate="P7", cell="Z9")
        with pytest.raises(Missing, match="no coupon P8"):
            take_film(work, film, FilmTyped(face="30"), Typed(), plate="P8", cell="A1")
        with pytest.raises(Malformed, match="typed beside cell A1"):
            take_film(work, film, FilmTyped(face="30"), Typed(pulses=3), plate="P7", cell="A1")
