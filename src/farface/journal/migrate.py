"""Bring a journal to the schema of this program, or say why that cannot be."""

import sqlite3
import uuid
from contextlib import closing
from importlib.resources import files
from pathlib import Path
from typing import Final

from sqlalchemy import Connection, inspect, text

from farface.journal.connection import connect, writing
from farface.journal.faults import damaged, spoken
from farface.journal.place import Place, place_of
from farface.kernel import FarfaceError, Malformed, Missing, Refused

# Every schema that this program can read and bring up to date, oldest first.
REVISIONS: Final = ("0001", "0002")
# The mark in the header of every journal, set by the first migration: "farf" in ASCII.
_APPLICATION_ID: Final = 0x66617266
MIGRATIONS: Final = str(files("farface.journal") / "migrations")
# Up to this size a file is read through when it is opened; `farface journal check` reads any size.
_READ_THROUGH_BYTES: Final = 200_000_000


def bring_up_to_date(place: Path | Place) -> None:
    """Create or migrate a journal in one transaction; an older one is first copied aside, whole.

    Raises `Malformed` for a damaged file or one of another program, `Refused` for a journal of a later
    farface, and `Missing` where it cannot be made or reached; in each case it stays as it was.
    """
    place = place if isinstance(place, Place) else place_of(place)
    if place.path is None:
        with spoken(place.name):
            _migrate(place)
        return
    revision = find_revision(place.path)
    if revision == REVISIONS[-1]:
        return
    if revision is not None:
        copy_aside(place.path, revision)
    with spoken(place.name):
        _migrate(place)


def find_revision(path: Path) -> str | None:
    """Read the schema's revision without touching the file; None for a journal that is still to be made."""
    size_bytes = _size_bytes(path)
    if size_bytes == 0:
        return None
    with spoken(str(path)), closing(_read_only(path)) as connection:
        if size_bytes <= _READ_THROUGH_BYTES and not _is_whole(connection):
            raise damaged(str(path))
        return _revision(connection, path)


def copy_aside(path: Path, revision: str) -> Path:
    """Copy a journal beside itself, what still stands in its write-ahead log included."""
    target = _free_name(path.with_name(f"{path.stem}-at-{revision}{path.suffix}"))
    unfinished = path.with_name(f".{uuid.uuid4().hex}.part")
    try:
        with (
            spoken(str(path)),
            closing(_read_only(path)) as source,
            closing(sqlite3.connect(unfinished)) as copy,
        ):
            source.backup(copy)
        unfinished.replace(target)
    finally:
        unfinished.unlink(missing_ok=True)
    return target


def _size_bytes(path: Path) -> int:
    """Give the size of a file that may not be there yet."""
    try:
        if not path.parent.is_dir():
            raise Missing(f"There is no folder {path.parent} for the journal. Make the bench first.")
        if path.is_dir():
            raise Malformed(f"{path} is a folder, but the journal is a file. Move the folder away.")
        return path.stat().st_size if path.exists() else 0
    except OSError as error:
        raise Missing(f"{path} cannot be reached: {error.strerror}. Ask for the right to use it.") from error


def _is_whole(connection: sqlite3.Connection) -> bool:
    return bool(connection.execute("PRAGMA quick_check(1)").fetchone() == ("ok",))


def _revision(connection: sqlite3.Connection, path: Path) -> str | None:
    (objects,) = connection.execute("SELECT count(*) FROM sqlite_master").fetchone()
    if not objects:
        return None
    (application,) = connection.execute("PRAGMA application_id").fetchone()
    if application != _APPLICATION_ID:
        raise Malformed(f"{path} is a database of another program, not a journal of farface. Move it away.")
    (revision,) = connection.execute("SELECT max(version_num) FROM alembic_version").fetchone()
    if revision is None:
        raise damaged(str(path))
    if revision not in REVISIONS:
        raise _too_new(str(path), revision)
    return str(revision)


def _too_new(name: str, revision: str) -> FarfaceError:
    return Refused(
        f"{name} has the schema {revision}, but this farface knows none after {REVISIONS[-1]} and might "
        "harm it. Use the farface that wrote it, or a newer one."
    )


def _read_only(path: Path) -> sqlite3.Connection:
    return sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True)


def _free_name(path: Path) -> Path:
    """Give the name, with a number where earlier copies have it."""
    taken = 1
    candidate = path
    while candidate.exists():
        taken += 1
        candidate = path.with_stem(f"{path.stem}-{taken}")
    return candidate


def _migrate(place: Place) -> None:
    """Run every missing migration, if there is one, in a transaction that no other writer can enter."""
    engine = connect(place)
    try:
        with writing(engine).begin() as connection:
            if place.path is not None or _is_behind(connection, place):
                _upgrade(connection)
    finally:
        engine.dispose()


def _upgrade(connection: Connection) -> None:
    """Call Alembic; imported late, for a journal that is up to date needs none of it."""
    from alembic import command
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", MIGRATIONS.replace("%", "%%"))
    config.attributes["connection"] = connection
    command.upgrade(config, "head")


def _is_behind(connection: Connection, place: Place) -> bool:
    """Look at the tables of a server; where they are older, copy them before they change."""
    tables = set(inspect(connection).get_table_names())
    if "alembic_version" not in tables:
        if tables & {"record", "file"}:
            raise Malformed(
                f"{place.name} holds tables of another program. Give the journal a database of its own."
            )
        return True
    revision = connection.scalar(text("SELECT max(version_num) FROM alembic_version"))
    if revision not in REVISIONS:
        raise _too_new(place.name, str(revision))
    if revision == REVISIONS[-1]:
        return False
    for table in ("record", "file"):
        connection.execute(text(f'CREATE TABLE "{table}_at_{revision}" AS TABLE "{table}"'))
    return True
