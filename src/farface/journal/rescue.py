"""Take all that can be read out of a damaged SQLite journal into a new one; the damaged file is kept."""

import json
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from farface.journal.digest import SAID, record_sha256
from farface.journal.migrate import bring_up_to_date
from farface.kernel import Malformed, Missing

_JSON = ("body", "inputs")
_RECORD = (*SAID, "number", "sha256")
_LEAST_ROW_BYTES = 100
_FILE = ("sha256", "name", "bytes", "kind", "at_utc")


@dataclass(frozen=True, slots=True, kw_only=True)
class Rescued:
    """Count what came over; give the numbers lost, and where the damaged file is kept."""

    records: int
    files: int
    lost: tuple[int, ...]
    damaged: Path


def rescue(path: Path) -> Rescued:
    """Write a new journal from every record that is whole by its hash, then put it in the old one's place.

    The damaged file is moved beside it with its write-ahead log, never deleted. Raises `Missing` where there
    is none and `Malformed` where nothing in it can be read.
    """
    if not path.is_file():
        raise Missing(f"There is no journal {path} to rescue. Name the right bench.")
    records, files = _whole_records(path), _readable(path, "file", _FILE)
    if not records and not files:
        raise Malformed(
            f"Nothing in {path} can be read as a journal. Put back a copy of it; it was not touched."
        )
    fresh = path.with_name(f"{path.stem}-rescued{path.suffix}")
    fresh.unlink(missing_ok=True)
    bring_up_to_date(fresh)
    _fill(fresh, records, files)
    kept = _move_aside(path)
    fresh.replace(path)
    last = max((record["number"] for record in records), default=0)
    lost = sorted(set(range(1, last + 1)) - {record["number"] for record in records})
    return Rescued(records=len(records), files=len(files), lost=tuple(lost), damaged=kept)


def _fill(path: Path, records: list[dict[str, Any]], files: list[dict[str, Any]]) -> None:
    """Insert the rows as they were; what a record corrected may be lost, so references are not enforced."""
    with closing(sqlite3.connect(path)) as connection, connection:
        for table, columns, rows in (("file", _FILE, files), ("record", _RECORD, records)):
            marks = ", ".join(f":{name}" for name in columns)
            insert = f'INSERT INTO "{table}" ({", ".join(columns)}) VALUES ({marks})'
            connection.executemany(insert, [_as_stored(row) for row in rows])


def _as_stored(row: dict[str, Any]) -> dict[str, Any]:
    return row | {name: json.dumps(row[name]) for name in _JSON if name in row}


def _whole_records(path: Path) -> list[dict[str, Any]]:
    found = {}
    for row in _readable(path, "record", _RECORD):
        try:
            content = (
                row | {name: json.loads(row[name]) for name in _JSON} | {"withdrawn": bool(row["withdrawn"])}
            )
            if record_sha256(content) == row["sha256"]:
                found[content["id"]] = content
        except (TypeError, ValueError):
            continue
    return list(found.values())


def _readable(path: Path, table: str, columns: tuple[str, ...]) -> list[dict[str, Any]]:
    """Read the rows of a table one by one, stepping over those that lie on damaged pages."""
    with closing(sqlite3.connect(path)) as connection:
        rows = _rows(connection, table, columns, path_bytes=path.stat().st_size)
        return [dict(zip(columns, row, strict=True)) for row in rows]


def _rows(
    connection: sqlite3.Connection, table: str, columns: tuple[str, ...], *, path_bytes: int
) -> Iterator[tuple[Any, ...]]:
    listed = ", ".join(columns)
    try:
        (last,) = connection.execute(f'SELECT max(rowid) FROM "{table}"').fetchone()
    except sqlite3.DatabaseError:
        # Not even the root can be read: try as many places as the file could hold.
        last = path_bytes // _LEAST_ROW_BYTES
    for rowid in range(1, (last or 0) + 1):
        try:
            row = connection.execute(f'SELECT {listed} FROM "{table}" WHERE rowid = ?', (rowid,)).fetchone()
        except (sqlite3.DatabaseError, ValueError):
            continue
        if row is not None:
            yield row


def _move_aside(path: Path) -> Path:
    """Give the damaged file and its log another name."""
    count = 1
    while (kept := path.with_name(f"{path.stem}-damaged-{count}{path.suffix}")).exists():
        count += 1
    for end in ("-wal", "-shm"):
        log = path.with_name(path.name + end)
        if log.exists():
            log.replace(kept.with_name(kept.name + end))
    path.replace(kept)
    return kept
