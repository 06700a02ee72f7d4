"""Check that a journal of any age, state or origin is migrated whole or left alone."""

import hashlib
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory

from farface.journal import Journal, Record, migrate
from farface.journal.connection import connect
from farface.journal.place import place_of
from farface.journal.schema import Base
from farface.kernel import FarfaceError, Malformed, Missing, Refused

AT = "2025-03-01T09:30:00+00:00"

# A journal as the first revision made it, with one record in it.
FIRST_REVISION = """
PRAGMA application_id = 1717662310;
CREATE TABLE alembic_version (version_num VARCHAR(32) NOT NULL PRIMARY KEY);
INSERT INTO alembic_version VALUES ('0001');
CREATE TABLE record (
    id VARCHAR NOT NULL PRIMARY KEY, number INTEGER NOT NULL UNIQUE, kind VARCHAR NOT NULL,
    at_utc VARCHAR NOT NULL, program_version VARCHAR NOT NULL, seed BIGINT, title VARCHAR NOT NULL,
    body JSON NOT NULL, inputs JSON NOT NULL, supersedes VARCHAR UNIQUE REFERENCES record (id),
    reason VARCHAR NOT NULL
);
CREATE TABLE file (
    sha256 VARCHAR NOT NULL PRIMARY KEY, name VARCHAR NOT NULL, bytes BIGINT NOT NULL,
    kind VARCHAR NOT NULL, at_utc VARCHAR NOT NULL
);
INSERT INTO record VALUES
    ('a', 1, 'rig', '2025-03-01T09:30:00+00:00', '0.1.0', 7, 'first', '{"x": 1.5}', '[]', NULL, '');
"""
# Of the JSON with sorted keys and without spaces that says all of it but the number.
FIRST_SHA256 = hashlib.sha256(
    b'{"at_utc":"2025-03-01T09:30:00+00:00","body":{"x":1.5},"id":"a","inputs":[],"kind":"rig",'
    b'"program_version":"0.1.0","reason":"","seed":7,"supersedes":null,"title":"first","withdrawn":false}'
).hexdigest()
NEXT_REVISION = """
import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"


def upgrade():
    op.execute("CREATE TABLE later (x INTEGER)")
    op.execute("INSERT INTO later SELECT number FROM record")
    {last}
"""


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "journal.sqlite"


def _execute(path: Path, script: str) -> None:
    with closing(sqlite3.connect(path)) as connection:
        connection.executescript(script)


def _refused_untouched(path: Path) -> FarfaceError:
    """Open a journal that must be refused, and see that its file stays as it was."""
    before = path.read_bytes()
    with pytest.raises(FarfaceError) as caught:
        Journal.open(path)
    assert path.read_bytes() == before
    return caught.value


def _with_next_revision(monkeypatch: pytest.MonkeyPatch, folder: Path, last: str) -> None:
    """Let the program know one revision more, which lies in a folder of its own."""
    versions = folder / "versions"
    versions.mkdir()
    (versions / "r0003_later.py").write_text(NEXT_REVISION.format(last=last))
    own = Path(migrate.MIGRATIONS) / "versions"
    original = Config.set_main_option

    def with_both(config: Config, name: str, value: str) -> None:
        original(config, name, value)
        original(config, "path_separator", "newline")
        original(config, "version_locations", f"{own}\n{versions}")

    monkeypatch.setattr(Config, "set_main_option", with_both)
    monkeypatch.setattr(migrate, "REVISIONS", ("0001", "0002", "0003"))


def test_the_program_knows_every_revision_and_the_models_match_them(path: Path) -> None:
    config = Config()
    config.set_main_option("script_location", migrate.MIGRATIONS)
    walked = ScriptDirectory.from_config(config).walk_revisions()
    assert tuple(reversed([script.revision for script in walked])) == migrate.REVISIONS
    Journal.open(path).close()
    engine = connect(place_of(path))
    with engine.connect() as connection:
        assert compare_metadata(MigrationContext.configure(connection), Base.metadata) == []
    engine.dispose()


def test_reads_a_journal_of_the_first_revision(path: Path, tmp_path: Path) -> None:
    _execute(path, FIRST_REVISION)
    with Journal.open(path) as journal:
        (record,) = journal.all()
    assert record == Record(
        number=1,
        id="a",
        kind="rig",
        at_utc=AT,
        program_version="0.1.0",
        title="first",
        body={"x": 1.5},
        inputs=(),
        seed=7,
        supersedes=None,
        reason="",
        withdrawn=False,
        sha256=FIRST_SHA256,
    )
    with Journal.open(tmp_path / "journal-at-0001.sqlite") as copy:
        assert copy.all() == (record,)


def test_copies_an_older_journal_aside_and_migrates_it(
    path: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with Journal.open(path) as journal:
        record = journal.add(kind="rig", title="first", body={"x": 1}, at_utc=AT)
    _with_next_revision(monkeypatch, tmp_path, "pass")
    with Journal.open(path) as journal:
        assert journal.all() == (record,)
    with closing(sqlite3.connect(path)) as connection:
        assert connection.execute("SELECT x FROM later").fetchall() == [(1,)]
    monkeypatch.undo()
    with Journal.open(tmp_path / "journal-at-0002.sqlite") as copy:
        assert copy.all() == (record,)
    assert isinstance(_refused_untouched(path), Refused)


def test_a_migration_that_fails_leaves_the_journal_as_it_was(
    path: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with Journal.open(path) as journal:
        record = journal.add(kind="rig", title="first", body={"x": 1}, at_utc=AT)
    with monkeypatch.context() as patch:
        _with_next_revision(patch, tmp_path, "raise RuntimeError('interrupted')")
        with pytest.raises(RuntimeError, match="interrupted"):
            Journal.open(path)
    with Journal.open(path) as journal:
        assert journal.all() == (record,)
    with closing(sqlite3.connect(path)) as connection:
        assert connection.execute("SELECT name FROM sqlite_master WHERE name = 'later'").fetchall() == []


def test_leaves_a_journal_of_a_later_farface_alone(path: Path) -> None:
    Journal.open(path).close()
    _execute(path, "UPDATE alembic_version SET version_num = '0999'")
    error = _refused_untouched(path)
    assert isinstance(error, Refused)
    assert "has the schema 0999, but this farface knows none after 0002" in str(error)


def test_leaves_what_is_no_journal_alone(path: Path) -> None:
    path.write_text("a letter, longer than the header of a database" * 10)
    assert "is no journal, or a damaged one" in str(_refused_untouched(path))
    path.unlink()
    _execute(path, "CREATE TABLE honey (jars INTEGER)")
    assert "is a database of another program" in str(_refused_untouched(path))


@pytest.mark.parametrize("damage", ["cut", "overwritten"])
def test_leaves_a_damaged_journal_alone(path: Path, damage: str) -> None:
    with Journal.open(path) as journal:
        for number in range(50):
            journal.add(kind="rig", title=str(number), body={"x": [0.5] * 200}, at_utc=AT)
    content = path.read_bytes()
    middle = len(content) // 2
    damaged = content[:middle] + (b"" if damage == "cut" else b"\xff" * 9000 + content[middle + 9000 :])
    path.write_bytes(damaged)
    error = _refused_untouched(path)
    assert isinstance(error, Malformed)
    assert "damaged" in str(error)


def test_takes_an_empty_file_for_a_new_journal(path: Path) -> None:
    path.touch()
    with Journal.open(path) as journal:
        assert journal.all() == ()


def test_names_places_that_cannot_hold_a_journal(tmp_path: Path) -> None:
    with pytest.raises(Missing, match="There is no folder"):
        Journal.open(tmp_path / "nowhere" / "journal.sqlite")
    with pytest.raises(Malformed, match="is a folder, but the journal is a file"):
        Journal.open(tmp_path)
    with pytest.raises(Malformed, match="can only be kept in SQLite"):
        Journal.open("mysql://bench/journal")
    with pytest.raises(Missing, match="needs a folder for its files"):
        Journal.open("postgresql://bench/journal")


def test_a_full_disk_loses_only_the_record_that_did_not_fit(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("farface.journal.connection._PRAGMAS", ("journal_mode = WAL", "max_page_count = 40"))
    kept = []
    with Journal.open(path) as journal:
        with pytest.raises(Missing, match="the disk is full"):
            for number in range(200):
                kept.append(journal.add(kind="x", title=str(number), body={"x": [0.5] * 500}, at_utc=AT))
        assert kept
        assert journal.all() == tuple(kept)


def test_says_that_another_program_holds_the_journal(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("farface.journal.connection._PRAGMAS", ("busy_timeout = 50", "journal_mode = WAL"))
    with Journal.open(path) as journal, closing(sqlite3.connect(path)) as other:
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(Missing, match="is in use by another program"):
            journal.add(kind="rig", title="x", body={}, at_utc=AT)
        other.rollback()
        assert journal.add(kind="rig", title="x", body={}, at_utc=AT).number == 1
