"""Check that a computation, done again from its record alone, gives the same numbers to the last digit."""

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from demo_bench import demo_bench
from farface.app.explain import explain_setting
from farface.app.journal_check import check_journal
from farface.app.journal_export import Selection, export_bench
from farface.app.journal_import import import_bench
from farface.app.journal_open import open_journal
from farface.app.journal_rerun import rerun
from farface.app.learn import learn_from_bench
from farface.app.outcomes import take_outcomes
from farface.app.part import PartOrder, plan_part
from farface.app.rig import explain_rig
from farface.app.settings import Typed
from farface.app.window import map_window
from farface.app.workbench import open_workbench
from farface.kernel import Missing
from test_journal_exchange import TABLE

SEED = 11
STEPS = 50
DRAWING = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="2mm" height="2mm" viewBox="0 0 2 2">'
    '<g fill="black"><title>depth 5 um</title><rect id="well" x="0.5" y="0.5" width="0.3" '
    'height="0.3"/></g></svg>'
)
AROUND = Typed(rate="40 kHz", pulses=6, pitch="18 um")
KINDS = ("window-prior", "outcomes", "fit", "window", "explanation", "part")


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Run one computation of each kind; afterwards everything it read is changed or gone."""
    folder = tmp_path_factory.mktemp("rerun")
    places = demo_bench(folder / "bench")
    table, drawing = folder / "P1.csv", folder / "well.svg"
    table.write_text(TABLE)
    drawing.write_text(DRAWING)
    with open_workbench(places.folder, seed=SEED) as work:
        map_window(work, AROUND, prior=True)
        take_outcomes(work, table)
        learn_from_bench(work, steps=STEPS)
        map_window(work, AROUND)
        explain_setting(work, AROUND)
        typed = Typed(energy="400 uJ", rate="40 kHz", pulses=6, pitch="18 um")
        plan_part(work, typed, PartOrder(drawing=drawing, depth="5 um", risk=1.0))
    drawing.unlink()
    table.unlink()
    places.rig.write_text(places.rig.read_text().replace("1.1 mm", "1.3 mm"))
    with open_workbench(places.folder, seed=1) as work:
        table.write_text(TABLE.replace("steady", "runaway"))
        take_outcomes(work, table)
        learn_from_bench(work, steps=STEPS)
    return places.folder


@pytest.mark.exact
@pytest.mark.parametrize("kind", [kind for kind in KINDS if kind != "outcomes"])
def test_the_numbers_come_again(bench: Path, kind: str) -> None:
    with open_journal(bench) as opened:
        record = opened.journal.all(kind)[0]
        count = opened.journal.count()
        answer = rerun(opened, str(record.number))
        assert answer.data["differences"] == []
        assert answer.data["same"]
        assert opened.journal.count() == count


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
    with open_workbench(bench) as work:
        explain_rig(work, Typed())
    with open_journal(bench) as opened:
        for kind in ("outcomes", "rig"):
            number = opened.journal.all(kind)[0].number
            with pytest.raises(Missing, match="can be computed again"):
                rerun(opened, str(number))
