"""Add records to the journal and find them again; nothing in it is ever edited or removed."""

import json
import uuid
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Self

from sqlalchemy import Engine, func, select
from sqlalchemy.orm import Session

from farface import __version__
from farface.journal.connection import connect, writing
from farface.journal.digest import SAID, record_sha256
from farface.journal.entries import Input, Record, StoredFile
from farface.journal.faults import spoken
from farface.journal.migrate import bring_up_to_date
from farface.journal.place import Place, place_of
from farface.journal.queries import row_meant, rows_resting_on, standing, standing_rows
from farface.journal.rows import file_of, input_json, record_of
from farface.journal.rules import (
    check_correction,
    check_seed,
    check_utc,
    check_words,
    existing_row,
    vouched_inputs,
)
from farface.journal.schema import FileRow, RecordRow
from farface.journal.stored_files import Source, sha256_of, store
from farface.kernel import Malformed, Missing


class Journal:
    """Keep the permanent record of one bench; use it as a context manager, or `close` it.

    Each `add` is one transaction: when it returns, the record is on the disk; when it raises, nothing was
    written. Copies of files lie in runs/files of the bench.
    """

    def __init__(self, *, place: Place, engine: Engine) -> None:
        self.place = place
        self._engine = engine

    @classmethod
    def open(cls, place: Path | str, *, files: Path | None = None) -> Self:
        """Open the journal at a path or URL; make it if absent, migrate it if older.

        A journal on a server needs the folder of stored ``files``. Raises `Malformed` for a damaged file or
        another program's, `Refused` for a later farface's, and `Missing` where it cannot be read or written;
        in each case it stays as it was.
        """
        found = place_of(place, files)
        bring_up_to_date(found)
        return cls(place=found, engine=connect(found))

    def close(self) -> None:
        """Let go of the database."""
        self._engine.dispose()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def add(
        self,
        *,
        kind: str,
        title: str,
        body: Mapping[str, Any],
        at_utc: str,
        inputs: Iterable[Input] = (),
        seed: int | None = None,
        supersedes: str | None = None,
        reason: str = "",
        withdrawn: bool = False,
    ) -> Record:
        """Add one record; ``body`` is anything JSON can hold, ``at_utc`` an ISO 8601 time in UTC.

        To correct a record, add one of the same kind that ``supersedes`` it and give the ``reason``; to take
        it out, let that one be ``withdrawn``. Raises `Missing` when an input or the superseded record is not
        in the journal, `Malformed` when the time is not UTC or a correction has no reason, is of another
        kind, or corrects what was corrected already.
        """
        check_utc(at_utc)
        check_seed(seed)
        check_words(kind, title, reason)
        row = RecordRow(
            id=str(uuid.uuid4()), kind=kind, at_utc=at_utc, program_version=__version__, seed=seed,
            title=title, body=json.loads(json.dumps(dict(body), allow_nan=False)), supersedes=supersedes,
            reason=reason, withdrawn=withdrawn,
        )  # fmt: skip
        with self.writing() as session:
            row.inputs = vouched_inputs(session, [input_json(item) for item in inputs])
            check_correction(session, row)
            row.sha256 = record_sha256({name: getattr(row, name) for name in SAID})
            row.number = next_number(session)
            session.add(row)
        return record_of(row)

    def get(self, record_id: str) -> Record:
        """Find a record by its id; `Missing` when there is none."""
        with self.reading() as session:
            return record_of(existing_row(session, record_id))

    def meant(self, text: str) -> Record:
        """Find the record whose number or id, or the start of it, a person typed."""
        with self.reading() as session:
            return record_of(row_meant(session, text))

    def latest(self, kind: str) -> Record | None:
        """Find the record of a kind that was written last and stands: not superseded, not withdrawn."""
        query = select(RecordRow).where(RecordRow.kind == kind, standing())
        with self.reading() as session:
            row = session.scalar(query.order_by(RecordRow.number.desc()).limit(1))
            return None if row is None else record_of(row)

    def standing(self, *kinds: str) -> tuple[Record, ...]:
        """List the records of some kinds that stand, each correction in the place of what it corrects."""
        with self.reading() as session:
            return tuple(record_of(row) for row in standing_rows(session, kinds))

    def all(self, kind: str | None = None) -> tuple[Record, ...]:
        """List the records, or those of one kind, in the order of writing, superseded ones included."""
        return self.last(None, () if kind is None else (kind,))

    def last(self, count: int | None, kinds: Sequence[str] = ()) -> tuple[Record, ...]:
        """List the last so many records, or those of some kinds, in the order of writing."""
        query = select(RecordRow).order_by(RecordRow.number.desc()).limit(count)
        if kinds:
            query = query.where(RecordRow.kind.in_(kinds))
        with self.reading() as session:
            return tuple(record_of(row) for row in session.scalars(query))[::-1]

    def count(self) -> int:
        """Count the records."""
        with self.reading() as session:
            return session.scalar(select(func.max(RecordRow.number))) or 0

    def newer(self, record_id: str) -> Record | None:
        """Find the record that supersedes another."""
        with self.reading() as session:
            row = session.scalar(select(RecordRow).where(RecordRow.supersedes == record_id))
            return None if row is None else record_of(row)

    def resting_on(self, record_id: str) -> tuple[Record, ...]:
        """List the standing records that name another as an input."""
        with self.reading() as session:
            return tuple(record_of(row) for row in rows_resting_on(session, record_id))

    def add_file(self, source: Source, *, kind: str, at_utc: str, name: str = "") -> StoredFile:
        """Keep a copy of a file under its SHA-256; content that is there already keeps its first entry.

        ``name`` is what it is called, by default the name of the path. Raises `Missing` when it cannot be
        read or copied.
        """
        check_utc(at_utc)
        called = name or (source.name if isinstance(source, Path) else "")
        called = called.encode("utf-8", "replace").decode("utf-8")
        if not called:
            raise Malformed("Bytes without a name cannot be kept as a file. Give them a name.")
        check_words(kind, called)
        sha256, size_bytes = store(source, self.place.files)
        with self.writing() as session:
            row = session.get(FileRow, sha256)
            if row is None:
                row = FileRow(sha256=sha256, name=called, bytes=size_bytes, kind=kind, at_utc=at_utc)
                session.add(row)
        return file_of(row, self.place.files)

    def file(self, sha256: str) -> StoredFile:
        """Find a stored file by its hash; `Missing` when there is none."""
        with self.reading() as session:
            row = session.get(FileRow, sha256)
        if row is None:
            raise Missing(f"The journal keeps no file {sha256}. Name one that it lists.")
        return file_of(row, self.place.files)

    def content(self, sha256: str) -> bytes:
        """Read a stored file; `Missing` when its copy is gone, or is no longer what was stored."""
        return self.whole(sha256).path.read_bytes()

    def whole(self, sha256: str) -> StoredFile:
        """Find a stored file whose copy is what was stored; `Missing` when it is gone or was changed."""
        file = self.file(sha256)
        if sha256_of(file.path) != sha256:
            raise Missing(
                f"The {file.kind} {file.name} that the journal kept is missing or damaged. `farface journal "
                "check` says how to get it back."
            )
        return file

    def files(self) -> tuple[StoredFile, ...]:
        """List the stored files by time."""
        with self.reading() as session:
            rows = session.scalars(select(FileRow).order_by(FileRow.at_utc, FileRow.sha256))
            return tuple(file_of(row, self.place.files) for row in rows)

    @contextmanager
    def reading(self) -> Iterator[Session]:
        """Open a session that reads."""
        with spoken(self.place.name), Session(self._engine) as session:
            yield session

    @contextmanager
    def writing(self) -> Iterator[Session]:
        """Open a session that alone may write, and commit it in the end unless something was raised."""
        writer = writing(self._engine)
        with spoken(self.place.name), Session(writer, expire_on_commit=False) as session, session.begin():
            yield session


def next_number(session: Session) -> int:
    """Give the number of the next record; only a session that writes may ask."""
    return (session.scalar(select(func.max(RecordRow.number))) or 0) + 1
