"""Check what the journal gives back, what it refuses, and that nothing in it can be edited."""

import hashlib
import sqlite3
from contextlib import closing
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from farface import __version__
from farface.journal import Input, Journal
from farface.kernel import Malformed, Missing, OutOfRange

AT = "2025-03-01T09:30:00+00:00"


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "journal.sqlite"


def _add(journal: Journal, title: str = "first", kind: str = "rig", **more: Any) -> Any:
    return journal.add(kind=kind, title=title, body={"thickness_m": 1.1e-3}, at_utc=AT, **more)


def test_gives_back_what_was_added(path: Path) -> None:
    with Journal.open(path) as journal:
        film = journal.add_file(b"frames", name="one.mp4", kind="film", at_utc=AT)
        rig = _add(journal)
        inputs = (Input(role="film", file=film.sha256), Input(role="rig", record=rig.id))
        reading = _add(journal, "read", kind="footage", inputs=inputs, seed=2**63 - 1)
    with Journal.open(path) as journal:
        assert journal.all() == (rig, reading)
        assert journal.get(reading.id) == reading
        assert (reading.number, reading.seed) == (2, 2**63 - 1)
        assert reading.inputs == (inputs[0], replace(inputs[1], sha256=rig.sha256))
        assert (reading.at_utc, reading.program_version) == (AT, __version__)
        assert journal.files() == (film,)


def test_opens_by_url_and_finds_nothing_in_a_new_journal(path: Path) -> None:
    with Journal.open(f"sqlite:///{path}") as journal:
        assert journal.latest("rig") is None
        assert journal.all() == journal.files() == ()
    assert path.exists()


def test_latest_is_the_last_of_its_kind_corrections_included(path: Path) -> None:
    with Journal.open(path) as journal:
        first = _add(journal)
        second = _add(journal, "second")
        _add(journal, "bath", kind="bath")
        assert journal.latest("rig") == second
        third = _add(journal, "third", supersedes=first.id, reason="thickness misread")
        assert journal.latest("rig") == third
        assert [record.title for record in journal.all("rig")] == ["first", "second", "third"]
        fourth = _add(journal, "fourth", supersedes=third.id, reason="misread again")
        assert journal.latest("rig") == fourth


@pytest.mark.parametrize(
    ("error", "says", "arguments"),
    [
        (Malformed, "gives no reason", {"supersedes": "first"}),
        (Malformed, "cannot supersede one of rig", {"supersedes": "first", "reason": "x", "kind": "bath"}),
        (Malformed, "superseded already by record 2", {"supersedes": "corrected", "reason": "x"}),
        (Missing, "has no record nowhere", {"supersedes": "nowhere", "reason": "x"}),
        (Missing, "has no record nowhere", {"inputs": [Input(role="rig", record="nowhere")]}),
        (Missing, "keeps no file 00", {"inputs": [Input(role="film", file="00")]}),
        (OutOfRange, "The seed is -1", {"seed": -1}),
        (OutOfRange, "The seed is 9223372036854775808", {"seed": 2**63}),
    ],
)
def test_refuses_a_record_that_breaks_a_rule_and_writes_nothing(
    path: Path, error: type[Exception], says: str, arguments: dict[str, Any]
) -> None:
    with Journal.open(path) as journal:
        first = _add(journal)
        corrected = _add(journal, "corrected", supersedes=first.id, reason="misread")
        ids = {"first": corrected.id, "corrected": first.id}
        if "supersedes" in arguments:
            arguments = arguments | {"supersedes": ids.get(arguments["supersedes"], arguments["supersedes"])}
        with pytest.raises(error, match=says):
            _add(journal, "refused", **arguments)
        assert journal.all() == (first, corrected)
        assert _add(journal, "next").number == 3


@pytest.mark.parametrize("at_utc", ["2025-03-01T09:30:00", "2025-03-01T09:30:00+02:00", "yesterday", ""])
def test_takes_only_utc(path: Path, at_utc: str) -> None:
    with Journal.open(path) as journal, pytest.raises(Malformed, match="ISO 8601 in UTC"):
        journal.add(kind="rig", title="x", body={}, at_utc=at_utc)


def test_a_body_without_a_number_is_a_bug_and_writes_nothing(path: Path) -> None:
    with Journal.open(path) as journal:
        with pytest.raises(ValueError, match="not JSON compliant"):
            journal.add(kind="rig", title="x", body={"depth_m": float("nan")}, at_utc=AT)
        assert journal.all() == ()


def test_an_input_names_one_thing() -> None:
    for both in ({}, {"record": "a", "file": "b"}):
        with pytest.raises(ValueError, match="must name a record or a file"):
            Input(role="rig", **both)


numbers = st.integers(-(2**60), 2**60) | st.floats(allow_nan=False, allow_infinity=False)
texts = st.text(st.characters(exclude_categories=["Cs"]))
json_values = st.recursive(
    st.none() | st.booleans() | numbers | texts,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(texts, inner, max_size=3),
    max_leaves=8,
)


def test_keeps_any_json_to_the_last_bit(path: Path) -> None:
    with Journal.open(path) as journal:

        @given(body=st.dictionaries(st.text("abc", max_size=3), json_values, max_size=4))
        def keeps(body: dict[str, Any]) -> None:
            record = journal.add(kind="x", title="x", body=body, at_utc=AT)
            assert journal.get(record.id).body == record.body == body

        keeps()


def test_a_body_changed_afterwards_does_not_reach_the_record(path: Path) -> None:
    body: dict[str, Any] = {"depths_m": [1e-6]}
    with Journal.open(path) as journal:
        record = journal.add(kind="x", title="x", body=body, at_utc=AT)
        body["depths_m"].append(2e-6)
        assert record.body == journal.get(record.id).body == {"depths_m": [1e-6]}


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE record SET title = 'other'",
        "DELETE FROM record",
        "INSERT OR REPLACE INTO record SELECT * FROM record",
        "INSERT OR REPLACE INTO record SELECT 'new', number, kind, at_utc, program_version, seed, title, "
        "body, inputs, supersedes, reason, withdrawn, sha256 FROM record",
        "UPDATE file SET name = 'other'",
        "DELETE FROM file",
        "INSERT OR REPLACE INTO file SELECT * FROM file",
    ],
)
def test_the_database_itself_refuses_edits(path: Path, statement: str) -> None:
    with Journal.open(path) as journal:
        journal.add_file(b"frames", name="one.mp4", kind="film", at_utc=AT)
        record = _add(journal)
    with closing(sqlite3.connect(path)) as connection:
        with pytest.raises(sqlite3.IntegrityError, match="the journal is never edited"):
            connection.execute(statement)
        connection.rollback()
    with Journal.open(path) as journal:
        assert journal.all() == (record,)
        assert len(journal.files()) == 1


def test_keeps_one_copy_of_a_file_under_its_content(path: Path, tmp_path: Path) -> None:
    content = bytes(range(256)) * 10_000
    source = tmp_path / "film.mp4"
    source.write_bytes(content)
    with Journal.open(path) as journal:
        kept = journal.add_file(source, kind="film", at_utc=AT)
        again = journal.add_file(content, name="copy.mp4", kind="film", at_utc=AT)
        assert kept == again == journal.file(kept.sha256)
        assert (kept.name, kept.size_bytes) == ("film.mp4", len(content))
        assert kept.sha256 == hashlib.sha256(content).hexdigest()
        assert kept.path.read_bytes() == content
        assert [entry.name for entry in kept.path.parent.iterdir()] == [kept.sha256]


def test_refuses_a_file_that_is_not_there_or_has_no_name(path: Path, tmp_path: Path) -> None:
    with Journal.open(path) as journal:
        with pytest.raises(Missing, match=r"gone\.mp4 could not be copied"):
            journal.add_file(tmp_path / "gone.mp4", kind="film", at_utc=AT)
        with pytest.raises(Malformed, match="Give them a name"):
            journal.add_file(b"", kind="film", at_utc=AT)
        with pytest.raises(Missing, match="keeps no file 00"):
            journal.file("00")
        assert journal.files() == ()
