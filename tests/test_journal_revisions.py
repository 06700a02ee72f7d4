"""Check that corrections, undoings and withdrawals are records too, and that what counts follows them."""

import tempfile
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sqlalchemy import text

from demo_bench import demo_bench
from farface.app.journal_diff import Difference, compare, differences
from farface.app.journal_log import list_files, list_records, show_record
from farface.app.journal_open import OpenJournal, open_journal
from farface.app.journal_undo import undo
from farface.app.outcomes import known_outcomes, take_outcomes
from farface.app.workbench import Correction, open_workbench
from farface.journal import Input, Journal, Record, audit
from farface.journal.append_only import unguard
from farface.kernel import Malformed, Missing

AT = "2025-03-01T09:30:00+00:00"
TABLE = (
    "plate,cell,order,pulse_energy_uJ,rate_kHz,pulses_per_point,pitch_um,passes,seen,depth_um,depth_sd_um,"
    "depth_method,whole_after_pass,through_by_pass,sheet_um,note\n"
    "P1,A1,1,200,40,8,18,10,{seen},,,,,,,\n"
)


@pytest.fixture
def opened(tmp_path: Path) -> OpenJournal:
    places = demo_bench(tmp_path / "bench")
    return OpenJournal(places=places, journal=Journal.open(places.journal))


def _add(journal: Journal, title: str, kind: str = "rig", **more: object) -> Record:
    return journal.add(kind=kind, title=title, body={"title": title}, at_utc=AT, **more)  # type: ignore[arg-type]


def test_undoing_withdraws_and_undoing_that_brings_back(opened: OpenJournal) -> None:
    journal = opened.journal
    first, second = _add(journal, "first"), _add(journal, "second")
    undo(opened, "2", why="wrong plate")
    assert journal.latest("rig") == first
    assert journal.standing("rig") == (first,)
    undo(opened, "3", why="it was the right one")
    latest = journal.latest("rig")
    assert latest is not None
    assert (latest.title, dict(latest.body), latest.number) == ("second", dict(second.body), 4)
    assert journal.all()[:2] == (first, second)


def test_undoing_a_correction_brings_the_corrected_back(opened: OpenJournal) -> None:
    journal = opened.journal
    first = _add(journal, "first")
    _add(journal, "better", supersedes=first.id, reason="misread")
    answer = undo(opened, "2", why="it was read right")
    assert "What record 1 said" in answer.sentences[0]
    (stands,) = journal.standing("rig")
    assert (stands.title, stands.reason) == ("first", "undoes record 2: it was read right")
    with pytest.raises(Malformed, match="superseded already by record 3"):
        undo(opened, "2", why="again")


def test_undoing_names_what_rests_on_it_and_needs_a_reason(opened: OpenJournal) -> None:
    ground = _add(opened.journal, "outcomes")
    _add(opened.journal, "fit", kind="fit", inputs=(Input(role="outcomes", record=ground.id),))
    with pytest.raises(Malformed, match="needs a reason"):
        undo(opened, "1", why=" ")
    assert "On it rest fit 2" in undo(opened, "1", why="wrong").sentences[1]
    with pytest.raises(Missing, match="has no record 9"):
        undo(opened, "9", why="x")


steps = st.lists(st.tuples(st.sampled_from(["add", "correct", "undo"]), st.integers(0, 5)), max_size=14)


@given(steps=steps)
@settings(max_examples=12)
def test_any_order_of_corrections_and_undoings(steps: list[tuple[str, int]]) -> None:
    """Hold the journal to lists of what was said of each thing, one after another; None means nothing."""
    with tempfile.TemporaryDirectory() as name:
        places = demo_bench(Path(name) / "bench")
        opened = OpenJournal(places=places, journal=Journal.open(places.journal))
        said: list[list[str | None]] = []
        numbers: list[int] = []
        for step, (what, which) in enumerate(steps):
            if what == "add" or not said:
                numbers.append(_add(opened.journal, f"{step}").number)
                said.append([None, f"{step}"])
                continue
            which %= len(said)
            if what == "correct":
                old = opened.journal.meant(str(numbers[which]))
                new = _add(opened.journal, f"{step}", supersedes=old.id, reason="better")
                numbers[which] = new.number
                said[which].append(f"{step}")
            else:
                # Undoing puts back what the undone record replaced.
                numbers[which] = undo(opened, str(numbers[which]), why="no").data["written"]
                said[which].append(said[which][-2])
        stands = [record.title for record in opened.journal.standing("rig")]
        assert stands == [things[-1] for things in said if things[-1] is not None]
        assert [one for one in audit(opened.journal) if one.weight == "fault"] == []
        opened.journal.close()


def test_a_corrected_table_takes_the_place_of_the_old_reading(tmp_path: Path) -> None:
    places = demo_bench(tmp_path / "bench")
    table = tmp_path / "P1.csv"
    with open_workbench(places.folder) as work:
        table.write_text(TABLE.format(seen="steady"))
        take_outcomes(work, table)
        table.write_text(TABLE.format(seen="runaway"))
        take_outcomes(work, table, correction=Correction(corrects="1", why="misread A1"))
        (outcome,) = known_outcomes(work.journal.standing("outcomes"))
        assert outcome.seen == "runaway"
        with pytest.raises(Malformed, match="gives no reason"):
            take_outcomes(work, table, correction=Correction(corrects="2", why=""))
    with open_journal(places.folder) as opened:
        found = compare(opened, "2").data["differences"]
        seen = {one["path"]: (one["old"], one["new"]) for one in found}
        assert seen["data.outcomes[0].seen"] == ("steady", "runaway")
        undo(opened, "2", why="it was steady after all")
        assert known_outcomes(opened.journal.standing("outcomes"))[0].seen == "steady"


def test_a_correction_counts_where_the_corrected_stood(opened: OpenJournal) -> None:
    journal = opened.journal
    first = _add(journal, "first")
    later = _add(journal, "later")
    better = _add(journal, "better", supersedes=first.id, reason="misread")
    assert journal.standing("rig") == (better, later)


def test_differences_are_found_wherever_they_are() -> None:
    old = {"a": [1, 2], "b": {"c": 1.0}, "d": None, "e": 1}
    new = {"a": [1, 3, 4], "b": {"c": 1.0, "x": "y"}, "d": None, "e": 1.0}
    assert list(differences(old, new)) == [
        Difference(path="a[1]", old=2, new=3),
        Difference(path="a[2]", old=None, new=4),
        Difference(path="b.x", old=None, new="y"),
        Difference(path="e", old=1, new=1.0),
    ]
    assert list(differences(old, old)) == []


def test_lists_pages_kinds_and_files(opened: OpenJournal) -> None:
    journal = opened.journal
    for number in range(5):
        _add(journal, f"rig {number}", kind="rig" if number % 2 else "bath")
    journal.add_file(b"frames", name="one.mp4", kind="film", at_utc=AT)
    undo(opened, "5", why="no")
    page = list_records(opened, count=2)
    assert [row[0] for row in page.tables[0].rows] == ["5", "6"]
    assert page.tables[0].rows[0][5] == "superseded by 6"
    assert page.tables[0].rows[1][5] == "withdrawn: undoes record 5: no"
    assert page.sentences == ("2 of 6 records.", "Earlier ones: --before 5.")
    earlier = list_records(opened, count=2, before=5)
    assert [row[0] for row in earlier.tables[0].rows] == ["3", "4"]
    assert [row[0] for row in list_records(opened, kinds=("rig",)).tables[0].rows] == ["2", "4"]
    assert [row[3] for row in list_files(opened).tables[0].rows] == ["one.mp4"]


def test_an_id_that_starts_with_digits_is_still_found(opened: OpenJournal) -> None:
    record = _add(opened.journal, "digits")
    with opened.journal.writing() as session:
        for statement in unguard("record", "sqlite"):
            session.execute(text(statement))
        session.execute(text("UPDATE record SET id = '12345678-x'"))
    for meant in ("1", "12345678", "1234", "12345678-x"):
        assert opened.journal.meant(meant).title == record.title
    with pytest.raises(Missing, match="has no record 12"):
        opened.journal.meant("12")


def test_shows_what_a_record_rests_on_and_what_became_of_it(opened: OpenJournal) -> None:
    journal = opened.journal
    film = journal.add_file(b"frames", name="one.mp4", kind="film", at_utc=AT)
    ground = _add(journal, "ground", inputs=(Input(role="film", file=film.sha256),))
    _add(journal, "fit", kind="fit", inputs=(Input(role="outcomes", record=ground.id),))
    _add(journal, "better", supersedes=ground.id, reason="misread")
    shown = show_record(opened, ground.id[:8])
    assert shown.sentences == ("It was superseded by record 3: misread", "On it rest fit 2.")
    assert shown.tables[1].rows == (("film", "file one.mp4", film.sha256[:12]),)
    assert show_record(opened, "2").tables[1].rows[0][1] == "record 1: ground"
    with pytest.raises(Malformed, match="names no record"):
        show_record(opened, "x")
