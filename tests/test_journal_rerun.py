"""Check that a computation, done again from its record alone, gives the same numbers to the last digit."""

import ast
import csv
import sqlite3
from contextlib import closing
from pathlib import Path
from shutil import rmtree

import numpy as np
import pytest
from matplotlib.image import imsave

from checks.tree import PACKAGE
from demo_bench import demo_bench
from farface.app.bath import explain_bath
from farface.app.bench_cell import CellTyped
from farface.app.camera import FilmWish, plan_film
from farface.app.cell import draw_cell
from farface.app.check_sheets import write_sheets
from farface.app.chemicals import tell_chemicals
from farface.app.coupon import lay_out_coupon
from farface.app.coupon_order import CouponOrder
from farface.app.depth import DepthTyped, read_depth
from farface.app.explain import explain_setting
from farface.app.film_scale import FilmTyped
from farface.app.focus import FocusTyped, explain_focus
from farface.app.footage import take_film
from farface.app.hazards import estimate_hazards
from farface.app.journal_check import check_journal
from farface.app.journal_export import Selection, export_bench
from farface.app.journal_import import import_bench
from farface.app.journal_open import open_journal
from farface.app.journal_rerun import rerun
from farface.app.journal_undo import undo
from farface.app.learn import learn_from_bench
from farface.app.next_cells import NextOrder, propose_next
from farface.app.outcomes import take_outcomes
from farface.app.part import plan_part
from farface.app.part_order import PartOrder
from farface.app.prepare import prepare_bench
from farface.app.recipe import RecipeTyped, mix_bath
from farface.app.reruns import NOT_COMPUTED, RERUNS
from farface.app.rig import explain_rig
from farface.app.settings import Typed
from farface.app.spot import read_spot
from farface.app.wear import bath_wear
from farface.app.window import map_window
from farface.app.workbench import Workbench, open_workbench
from farface.footage.drawn import FilmTruth, TrueBubble, draw_film
from farface.kernel import Missing
from farface.records import FilmScale
from test_journal_exchange import TABLE

SEED = 11
STEPS = 50
DRAWING = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="2mm" height="2mm" viewBox="0 0 2 2">'
    '<g fill="black"><title>depth 5 um</title><rect id="well" x="0.5" y="0.5" width="0.3" '
    'height="0.3"/></g></svg>'
)
AROUND = Typed(rate="40 kHz", pulses=6, pitch="18 um")
SHOT = Typed(energy="300 uJ", rate="40 kHz")
TRUTH = FilmTruth(
    scale=FilmScale(frame_hz=30_000.0, exposure_s=12e-6, pixel_m=10e-6, face_row_px=30.0),
    frames=80,
    width_px=96,
    height_px=64,
    bubbles=tuple(
        TrueBubble(start_s=(5 + 15 * k) / 3e4, along_m=4e-4, below_m=1.5e-4, radius_max_m=9e-5, life_s=2e-4)
        for k in range(4)
    ),
)
MARKS = "pulse_energy_uJ,diameter_um\n50,24\n100,30\n200,35\n400,39\n"


def _films(folder: Path) -> tuple[Path, Path]:
    """Draw one film as raw levels with their layout, and as a folder of pictures."""
    frames = draw_film(TRUTH, np.random.default_rng(3))
    raw, pictures = folder / "one.raw", folder / "frames"
    raw.write_bytes(frames.tobytes())
    raw.with_suffix(".toml").write_text("width_px = 96\nheight_px = 64\nbits = 8\n")
    pictures.mkdir()
    for number, frame in enumerate(frames):
        imsave(pictures / f"{number:03d}.png", frame, cmap="gray", vmin=0, vmax=255)
    return raw, pictures


def _prepare(work: Workbench, folder: Path) -> None:
    (folder / "marks.csv").write_text(MARKS)
    explain_rig(work, SHOT)
    explain_bath(work)
    mix_bath(work, RecipeTyped(length="1 mm", salt="anhydrous", reading="30 %", path="1 mm"))
    estimate_hazards(work, SHOT, eyewear_optical_density=9.0)
    tell_chemicals(work)
    read_spot(work, folder / "marks.csv")
    read_depth(work, DepthTyped(travel=("31 um", "33 um"), through="glass"))
    plan_film(work, FilmWish(frame_rate="60 kHz"), SHOT)
    map_window(work, AROUND, prior=True)


def _learn(work: Workbench, folder: Path) -> None:
    table = folder / "P1.csv"
    table.write_text(TABLE)
    take_outcomes(work, table)
    for film in _films(folder):
        take_film(work, film, FilmTyped(face="30"), SHOT, plate="P1")
    learn_from_bench(work, steps=STEPS)


def _use(work: Workbench, folder: Path) -> None:
    """Compute what rests on the fit."""
    drawing, rungs = folder / "well.svg", folder / "F1-filled.csv"
    drawing.write_text(DRAWING)
    map_window(work, AROUND)
    explain_setting(work, AROUND)
    bath_wear(work, SHOT)
    draw_cell(work, CellTyped(also=("0.16 mm",), camera_distance="100 mm"))
    prepare_bench(work, SHOT)
    write_sheets(work, SHOT, only="run")
    explain_focus(work, FocusTyped(ladder="F1"), SHOT)
    rows = list(csv.DictReader((work.places.coupons / "F1.csv").open()))
    for row in rows:
        row["seen"] = "frosted" if abs(float(row["focus_offset_um"] or 0)) < 300.0 else "nothing"
    with rungs.open("w") as file:
        written = csv.DictWriter(file, rows[0])
        written.writeheader()
        written.writerows(rows)
    explain_focus(work, FocusTyped(read=rungs), SHOT)
    lay_out_coupon(work, AROUND, CouponOrder(name="P2", levels=2, repeats=2))
    propose_next(work, AROUND, NextOrder(depth="50 um", risk=1.0, cells=2, name="P3"))
    typed = Typed(energy="400 uJ", rate="40 kHz", pulses=6, pitch="18 um")
    plan_part(work, typed, PartOrder(drawing=drawing, depth="5 um", risk=1.0))


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Run computations of every kind; afterwards everything they read is changed or gone."""
    folder = tmp_path_factory.mktemp("rerun")
    places, read = demo_bench(folder / "bench"), folder / "read"
    read.mkdir()
    with open_workbench(places.folder, seed=SEED) as work:
        _prepare(work, read)
        _learn(work, read)
        _use(work, read)
    rmtree(read)
    places.rig.write_text(places.rig.read_text().replace("1.1 mm", "1.3 mm"))
    table = folder / "P1.csv"
    with open_workbench(places.folder, seed=1) as work:
        table.write_text(TABLE.replace("steady", "runaway"))
        take_outcomes(work, table)
        learn_from_bench(work, steps=STEPS)
    return places.folder


@pytest.mark.exact
@pytest.mark.parametrize("kind", RERUNS)
def test_the_numbers_come_again(bench: Path, kind: str) -> None:
    with open_journal(bench) as opened:
        records = [one for one in opened.journal.all(kind) if one.seed == SEED]
        count = opened.journal.count()
        assert records
        for record in records:
            answer = rerun(opened, str(record.number))
            assert answer.data["differences"] == []
            assert answer.data["same"]
        assert opened.journal.count() == count


def test_every_kind_that_is_written_is_known_to_be_computed_or_not() -> None:
    calls = [
        node
        for path in (PACKAGE / "app").glob("*.py")
        for node in ast.walk(ast.parse(path.read_text("utf-8")))
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) and node.func.attr == "publish"
    ]
    kinds = {call.args[0].value for call in calls if isinstance(call.args[0], ast.Constant)}
    assert len(kinds) > 15
    assert kinds <= RERUNS.keys() | NOT_COMPUTED.keys()
    assert not RERUNS.keys() & NOT_COMPUTED.keys()


@pytest.mark.slow
def test_they_come_again_on_another_bench(bench: Path, tmp_path: Path) -> None:
    with open_journal(bench) as opened:
        number = opened.journal.all("fit")[0].number
        export_bench(opened, tmp_path / "fit.zip", Selection(records=(str(number),)))
    import_bench(tmp_path / "fit.zip", tmp_path / "new")
    with open_journal(tmp_path / "new") as opened:
        (fit,) = opened.journal.all("fit")
        assert rerun(opened, str(fit.number)).data["same"]


def test_other_numbers_are_told(bench: Path, tmp_path: Path) -> None:
    with open_journal(bench) as opened:
        record = opened.journal.all("window-prior")[0]
        export_bench(opened, tmp_path / "window.zip", Selection(records=(str(record.number),)))
    import_bench(tmp_path / "window.zip", tmp_path / "new")
    with closing(sqlite3.connect(tmp_path / "new" / "journal.sqlite")) as connection:
        connection.execute("DROP TRIGGER record_never_edited")
        connection.execute("UPDATE record SET seed = seed + 1")
        connection.commit()
    with open_journal(tmp_path / "new") as opened:
        answer = rerun(opened, "1")
        assert not answer.data["same"]
        assert "odds" in answer.tables[0].rows[0][0]
        assert "of themselves at most" in answer.sentences[0]


def test_a_lost_picture_is_put_back(bench: Path) -> None:
    with open_journal(bench) as opened:
        record = opened.journal.all("window")[0]
        picture = next(item.file for item in record.inputs if item.role == "picture")
        path = opened.journal.file(str(picture)).path
        content = path.read_bytes()
        path.unlink()
        for drawn in (opened.places.reports).glob("*.svg"):
            drawn.unlink()
        (fault,) = check_journal(opened).data["faults"]
        assert f"`farface journal rerun {record.number}` makes it again" in fault
        rerun(opened, str(record.number))
        assert path.read_bytes() == content
        assert check_journal(opened).data["faults"] == []


def test_what_was_typed_cannot_be_computed_again(bench: Path) -> None:
    with open_journal(bench) as opened:
        number = opened.journal.all("outcomes")[0].number
        with pytest.raises(Missing, match="holds what a person saw"):
            rerun(opened, str(number))


def test_an_older_record_that_does_not_say_what_was_asked_is_named(tmp_path: Path) -> None:
    places = demo_bench(tmp_path / "bench")
    with open_journal(places.folder) as opened:
        at_utc = "2025-01-01T00:00:00+00:00"
        older = opened.journal.add(kind="next", title="Next", body={"data": {}}, at_utc=at_utc, seed=1)
        with pytest.raises(Missing, match=f"Record {older.number} .next. .* kept what was asked"):
            rerun(opened, str(older.number))
        body = {"data": {}, "request": {"typed": {"energy": None, "unheard": 1}}}
        foreign = opened.journal.add(kind="wear", title="Wear", body=body, at_utc=at_utc, seed=1)
        with pytest.raises(Missing, match="does not say what farface"):
            rerun(opened, str(foreign.number))
        undo(opened, str(foreign.number), why="a test")
        with pytest.raises(Missing, match="takes another one back"):
            rerun(opened, "3")


def test_a_film_that_is_gone_is_named(bench: Path, tmp_path: Path) -> None:
    with open_journal(bench) as opened:
        record = opened.journal.all("footage")[0]
        export_bench(opened, tmp_path / "film.zip", Selection(records=(str(record.number),)))
    import_bench(tmp_path / "film.zip", tmp_path / "new")
    with open_journal(tmp_path / "new") as opened:
        film = next(item.file for item in opened.journal.all("footage")[0].inputs if item.role == "film")
        opened.journal.file(str(film)).path.unlink()
        with pytest.raises(Missing, match=r"one\.raw that the journal kept is missing or damaged"):
            rerun(opened, "1")
