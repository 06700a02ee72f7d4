"""Look through a whole journal for what is damaged, missing, or was changed behind its back."""

import json
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, Literal

from sqlalchemy import String, cast, select, text
from sqlalchemy.orm import Session

from farface.journal.append_only import SAME, TRIGGERS
from farface.journal.digest import SAID, record_sha256
from farface.journal.entries import StoredFile
from farface.journal.schema import RecordRow
from farface.journal.store import Journal
from farface.journal.stored_files import sha256_of

_ROWS_AT_ONCE = 500
_JSON = ("body", "inputs")
# Every column, JSON as its text: a damaged one must not stop the others from being read.
_AS_STORED = tuple(
    cast(getattr(RecordRow, name), String).label(name) if name in _JSON else getattr(RecordRow, name)
    for name in (*SAID, "number", "sha256")
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """Say what was found: a fault, or a note about something harmless. ``file`` is its SHA-256."""

    weight: Literal["fault", "note"]
    sentence: str
    file: StoredFile | None = None


def audit(journal: Journal) -> Iterator[Finding]:
    """Yield everything wrong with the database, the records and the stored files."""
    with journal.reading() as session:
        yield from _database(session)
        yield from _records(session)
    yield from _files(journal)
    yield from _left_behind(journal)


def _fault(sentence: str) -> Finding:
    return Finding(weight="fault", sentence=sentence)


def _database(session: Session) -> Iterator[Finding]:
    """Ask SQLite to read every page, and either database for its append-only triggers."""
    dialect = session.get_bind().dialect.name
    if dialect == "sqlite":
        said = [row[0] for row in session.execute(text("PRAGMA integrity_check(20)"))]
        yield from (_fault(f"The database is damaged: {line}.") for line in said if line != "ok")
        names = {
            row[0] for row in session.execute(text("SELECT name FROM sqlite_master WHERE type = 'trigger'"))
        }
    else:
        names = {
            row[0] for row in session.execute(text("SELECT tgname FROM pg_trigger WHERE NOT tgisinternal"))
        }
    for table in SAME:
        for name in TRIGGERS[dialect]:
            if name.format(table=table) not in names:
                yield _fault(
                    f"The guard {name.format(table=table)} was removed, so the table {table} could be edited."
                )


@dataclass(slots=True)
class _Seen:
    """Hold what was met so far: the hash and the kind of each record, the hashes of all files."""

    files: set[str]
    hashes: dict[str, str] = field(default_factory=dict)
    kinds: dict[str, str] = field(default_factory=dict)


def _records(session: Session) -> Iterator[Finding]:
    """Go through the records in their order: none may lack, and each must still say what it said."""
    seen = _Seen(set(session.scalars(text("SELECT sha256 FROM file"))))
    expected, latest = 1, ""
    query = select(*_AS_STORED).order_by(RecordRow.number).execution_options(yield_per=_ROWS_AT_ONCE)
    for stored in session.execute(query).mappings():
        row = dict(stored)
        if row["number"] != expected:
            yield _fault(f"Records {expected} to {row['number'] - 1} are gone.")
        expected = row["number"] + 1
        try:
            row |= {name: json.loads(row[name]) for name in _JSON}
            yield from _record(row, seen)
            if latest and _time(row["at_utc"]) < _time(latest):
                yield _set_back(row["number"])
        except (TypeError, ValueError, KeyError, AttributeError, RecursionError):
            yield _fault(f"Record {row['number']} cannot be read: the database is damaged.")
        seen.hashes[row["id"]], seen.kinds[row["id"]], latest = row["sha256"], row["kind"], row["at_utc"]


def _time(at_utc: str) -> datetime:
    return datetime.fromisoformat(at_utc)


def _set_back(number: int) -> Finding:
    return Finding(
        weight="note",
        sentence=f"Record {number} bears an earlier time than the one before it: a clock was set back, or "
        f"it came "
        "from another bench. The numbers keep the order.",
    )


def _record(row: dict[str, Any], seen: _Seen) -> Iterator[Finding]:
    named = f'Record {row["number"]}, "{row["title"]}",'
    if record_sha256(row) != row["sha256"]:
        yield _fault(f"{named} was changed after it was written.")
    for item in row["inputs"]:
        if "file" in item:
            known = item["file"] in seen.files
        else:
            ground = seen.hashes.get(item["record"])
            known = ground is not None and item.get("sha256") in (None, ground)
        if not known:
            yield _fault(f"{named} rests on something that is gone or changed: its {item['role']}.")
    before = row["supersedes"]
    if before is not None and seen.kinds.get(before) != row["kind"]:
        yield _fault(f"{named} supersedes a record that is gone or of another kind.")


def _files(journal: Journal) -> Iterator[Finding]:
    for file in journal.files():
        found = sha256_of(file.path)
        if found == file.sha256:
            continue
        state = "is damaged" if found or file.path.exists() else "is missing"
        sentence = f"The {file.kind} {file.name} ({file.sha256[:12]}, {file.size_bytes} bytes) {state}"
        yield Finding(weight="fault", sentence=sentence, file=file)


def _left_behind(journal: Journal) -> Iterator[Finding]:
    """Note what an interrupted program left beside the stored files; none of it is part of the record."""
    folder = journal.place.files
    known = {file.sha256 for file in journal.files()}
    entries = [entry.name for entry in folder.iterdir()] if folder.is_dir() else []
    parts = sum(name.endswith(".part") for name in entries)
    copies = sum(not name.endswith(".part") and name not in known for name in entries)
    if parts or copies:
        yield Finding(
            weight="note",
            sentence=f"An interrupted program left {parts} half and {copies} whole copies that no record "
            f"names; "
            "they do no harm.",
        )
