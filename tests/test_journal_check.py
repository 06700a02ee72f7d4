"""Check that damage, loss and silent edits are found and named, each with a way out that loses nothing."""

import os
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from demo_bench import demo_bench
from farface.app.journal_check import check_journal, rescue_journal
from farface.app.journal_open import OpenJournal, open_journal
from farface.app.outcomes import take_outcomes
from farface.app.workbench import open_workbench
from farface.files.outcomes_file import OutcomesRead, read_outcomes
from farface.journal import Input, Journal
from farface.kernel import Malformed, Missing, Refused
from test_bench_folder import _without_the_right_to_write
from test_cli import farface
from test_journal_exchange import TABLE

AT = "2025-03-01T09:30:00+00:00"


@pytest.fixture
def opened(tmp_path: Path) -> OpenJournal:
    places = demo_bench(tmp_path / "bench")
    journal = Journal.open(places.journal)
    film = places.films / "one.mp4"
    film.write_bytes(b"frames" * 100)
    kept = journal.add_file(film, kind="film", at_utc=AT)
    rig = journal.add(kind="rig", title="rig", body={"x_m": 1.5}, at_utc=AT)
    inputs = (Input(role="film", file=kept.sha256), Input(role="rig", record=rig.id))
    journal.add(kind="footage", title="film", body={}, at_utc=AT, inputs=inputs)
    return OpenJournal(places=places, journal=journal)


def _behind_its_back(opened: OpenJournal, *statements: str) -> None:
    """Do what the guards forbid, as someone with the database open could."""
    with closing(sqlite3.connect(opened.places.journal)) as connection:
        for table in ("record", "file"):
            for what in ("edited", "removed", "replaced"):
                connection.execute(f"DROP TRIGGER {table}_never_{what}")
        for statement in statements:
            connection.execute(statement)
        connection.commit()


def test_a_sound_journal_is_said_to_be_so(opened: OpenJournal) -> None:
    answer = check_journal(opened)
    assert answer.sentences == (
        "All is well: 2 records and 1 files are whole and say what they said when they were written.",
    )
    assert answer.data["faults"] == answer.data["notes"] == []


@pytest.mark.parametrize(
    ("statement", "said"),
    [
        ("UPDATE record SET body = '{\"x_m\": 1.6}' WHERE number = 1", 'Record 1, "rig", was changed after'),
        (
            "UPDATE record SET at_utc = '2020-01-01T00:00:00Z' WHERE number = 1",
            'Record 1, "rig", was changed',
        ),
        (
            "UPDATE record SET sha256 = 'x' WHERE number = 1",
            "rests on something that is gone or changed: its rig",
        ),
        ("DELETE FROM record WHERE number = 1", "Records 1 to 1 are gone"),
        ("DELETE FROM file", "rests on something that is gone or changed: its film"),
        ("SELECT 1", "The guard record_never_edited was removed"),
    ],
)
def test_an_edit_behind_its_back_is_found(opened: OpenJournal, statement: str, said: str) -> None:
    _behind_its_back(opened, statement)
    assert said in " ".join(check_journal(opened).data["faults"])


@pytest.mark.parametrize("harm", ["missing", "damaged", "cut"])
def test_a_film_is_put_back_from_an_identical_one(opened: OpenJournal, harm: str) -> None:
    (kept,) = opened.journal.files()
    if harm == "missing":
        kept.path.unlink()
    else:
        kept.path.write_bytes(b"nothing" if harm == "damaged" else kept.path.read_bytes()[:-1])
    (fault,) = check_journal(opened).data["faults"]
    assert fault.startswith(f"The film one.mp4 ({kept.sha256[:12]}, 600 bytes) is ")
    assert fault.endswith("An identical one is films/one.mp4: --mend puts it back.")
    answer = check_journal(opened, mend=True)
    assert answer.data["faults"] == []
    assert "was put back from films/one.mp4" in answer.sentences[1]
    assert kept.path.read_bytes() == b"frames" * 100


def test_a_film_that_is_nowhere_else_is_asked_for(opened: OpenJournal) -> None:
    (kept,) = opened.journal.files()
    kept.path.unlink()
    (opened.places.films / "one.mp4").unlink()
    (fault,) = check_journal(opened, mend=True).data["faults"]
    assert fault.endswith("Import an export that holds it, or put a copy into the bench and use --mend.")


def test_a_lost_file_is_told_in_a_sentence_where_it_is_needed(opened: OpenJournal) -> None:
    (kept,) = opened.journal.files()
    assert opened.journal.content(kept.sha256) == b"frames" * 100
    kept.path.write_bytes(b"other")
    with pytest.raises(Missing, match=r"The film one\.mp4 that the journal kept is missing or damaged"):
        opened.journal.content(kept.sha256)


def test_a_table_changed_while_it_is_read_is_not_taken(
    opened: OpenJournal, monkeypatch: pytest.MonkeyPatch
) -> None:
    table = opened.places.coupons / "P1.csv"
    table.write_text(TABLE)

    def read_and_change(path: Path, deepest_m: float) -> OutcomesRead:
        read = read_outcomes(path, deepest_m=deepest_m)
        path.write_text(TABLE.replace("steady", "runaway"))
        return read

    monkeypatch.setattr("farface.app.outcomes.read_outcomes", read_and_change)
    before = opened.journal.all()
    with (
        open_workbench(opened.places.folder) as work,
        pytest.raises(Malformed, match="was changed while it was read"),
    ):
        take_outcomes(work, table)
    assert opened.journal.all() == before


def test_a_clock_that_jumps_back_and_left_overs_are_notes(opened: OpenJournal) -> None:
    opened.journal.add(kind="rig", title="later", body={}, at_utc="2031-01-01T00:00:00Z")
    opened.journal.add(kind="rig", title="after that", body={}, at_utc=AT)
    folder = opened.journal.place.files
    (folder / ".abc.part").write_bytes(b"half")
    (folder / ("0" * 64)).write_bytes(b"whole, but never entered")
    answer = check_journal(opened)
    assert answer.data["faults"] == []
    assert "Record 4 bears an earlier time" in answer.data["notes"][0]
    assert "left 1 half and 1 whole copies" in answer.data["notes"][1]
    assert [record.title for record in opened.journal.all("rig")] == ["rig", "later", "after that"]
    latest = opened.journal.latest("rig")
    assert latest is not None
    assert latest.title == "after that"


def test_a_damaged_database_is_rescued_and_kept(opened: OpenJournal) -> None:
    path = opened.places.journal
    for number in range(60):
        opened.journal.add(kind="rig", title=str(number), body={"x": [0.5] * 200}, at_utc=AT)
    before = opened.journal.all()
    opened.journal.close()
    content = path.read_bytes()
    middle = len(content) // 2
    harmed = content[:middle] + b"\xff" * 9000 + content[middle + 9000 :]
    path.write_bytes(harmed)
    with pytest.raises(Malformed, match="run `farface journal rescue`"), open_journal(opened.places.folder):
        pass
    answer = rescue_journal(opened.places.folder)
    assert (path.parent / answer.data["kept"]).read_bytes() == harmed
    with open_journal(opened.places.folder) as again:
        after = again.journal.all()
        assert all(record in before for record in after)
        assert len(after) == answer.data["records"] > len(before) // 2
        assert {one.number for one in before} - {one.number for one in after} == set(answer.data["lost"])
        assert any("are gone" in fault for fault in check_journal(again).data["faults"])
        assert again.journal.add(kind="rig", title="on", body={}, at_utc=AT).number == before[-1].number + 1


def test_a_rescue_of_a_sound_journal_loses_nothing(opened: OpenJournal) -> None:
    before = opened.journal.all()
    opened.journal.close()
    assert rescue_journal(opened.places.folder).data["lost"] == []
    with open_journal(opened.places.folder) as again:
        assert again.journal.all() == before
        assert check_journal(again).data["faults"] == []


def test_a_rescue_of_what_is_none_touches_nothing(opened: OpenJournal) -> None:
    opened.journal.close()
    path = opened.places.journal
    path.write_bytes(b"a letter" * 500)
    with pytest.raises(Malformed, match=r"Nothing in .* can be read"):
        rescue_journal(opened.places.folder)
    assert path.read_bytes() == b"a letter" * 500
    path.unlink()
    with pytest.raises(Missing, match="There is no journal"):
        rescue_journal(opened.places.folder)


def test_a_database_that_does_not_lock_is_said_to_be_so(
    opened: OpenJournal, monkeypatch: pytest.MonkeyPatch
) -> None:
    from farface.journal import connection

    def cannot_lock(*_: object) -> None:
        raise sqlite3.OperationalError("locking protocol")

    monkeypatch.setattr(connection, "_begin", cannot_lock)
    with pytest.raises(Missing, match=r"drive that cannot lock files.*PostgreSQL"):
        Journal.open(opened.places.folder / "other.sqlite")


def test_one_bench_has_one_journal(opened: OpenJournal) -> None:
    opened.journal.close()
    with (
        pytest.raises(Refused, match="has a journal of its own"),
        open_journal(opened.places.folder, "postgresql+psycopg://somebody@nowhere/bench"),
    ):
        pass


@pytest.mark.skipif(os.name != "posix", reason="permission bits are a POSIX matter")
def test_a_read_only_folder_is_left_alone(opened: OpenJournal, tmp_path: Path) -> None:
    opened.journal.close()
    for folder in (tmp_path.parent.parent, tmp_path.parent, tmp_path):
        folder.chmod(0o755)
    before = opened.places.journal.read_bytes()
    with (
        _without_the_right_to_write(opened.places.folder),
        pytest.raises(Missing, match="may not write there"),
        open_journal(opened.places.folder),
    ):
        pass
    assert opened.places.journal.read_bytes() == before


def test_faults_end_the_command_with_code_1(opened: OpenJournal) -> None:
    opened.journal.close()
    assert farface("journal", "check", "--bench", opened.places.folder).returncode == 0
    (kept,) = (opened.places.runs / "files").iterdir()
    kept.unlink()
    done = farface("journal", "check", "--bench", opened.places.folder)
    assert done.returncode == 1
    assert "is missing" in done.stdout
    assert farface("journal", "check", "--mend", "--bench", opened.places.folder).returncode == 0
