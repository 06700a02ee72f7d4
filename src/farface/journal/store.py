"""Add records to the journal and find them again; nothing in it is ever edited or removed."""

import json
import uuid
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Self

from sqlalchemy import Engine, func, make_url, select
from sqlalchemy.orm import Session

from farface import __version__
from farface.journal.connection import connect, writing
from farface.journal.entries import Input, Record, StoredFile
from farface.journal.faults import spoken
from farface.journal.migrate import bring_up_to_date
from farface.journal.rows import file_of, input_json, record_of
from farface.journal.rules import check_correction, check_inputs, check_seed, check_utc, existing_row
from farface.journal.schema import FileRow, RecordRow
from farface.journal.stored_files import store
from farface.kernel import Malformed, Missing


class Journal:
    """Keep the permanent record of one bench; use it as a context manager, or `close` it.

    Each `add` is one transaction: when it returns, the record is on the disk; when it raises, nothing was
    written. Copies of files lie in runs/files beside the database.
    """

    def __init__(self, *, path: Path, engine: Engine) -> None:
        self._path = path
        self._engine = engine
        self._files = path.parent / "runs" / "files"

    @classmethod
    def open(cls, place: Path | str) -> Self:
        """Open the journal at a path or ``sqlite:///`` URL; make it if absent, migrate it if older.

        Raises `Malformed` for a damaged file or another program's, `Refused` for a later farface's, and
        `Missing` where it cannot be read or written; in each case the file stays as it was.
        """
        path = _path_of(place)
        bring_up_to_date(path)
        return cls(path=path, engine=connect(path))

    def close(self) -> None:
        """Let go of the file."""
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
    ) -> Record:
        """Add one record; ``body`` is anything JSON can hold, ``at_utc`` an ISO 8601 time in UTC.

        To correct a record, add one of the same kind that ``supersedes`` it and give the ``reason``. Raises
        `Missing` when an input or the superseded record is not in the journal, `Malformed` when the time is
        not UTC or a correction has no reason, is of another kind, or corrects what was corrected already.
        """
        check_utc(at_utc)
        check_seed(seed)
        row = RecordRow(
            id=str(uuid.uuid4()),
            kind=kind,
            at_utc=at_utc,
            program_version=__version__,
            seed=seed,
            title=title,
            body=json.loads(json.dumps(dict(body), allow_nan=False)),
            inputs=[input_json(item) for item in inputs],
            supersedes=supersedes,
            reason=reason,
        )
        with self._write() as session:
            check_inputs(session, row)
            check_correction(session, row)
            row.number = (session.scalar(select(func.max(RecordRow.number))) or 0) + 1
            session.add(row)
        return record_of(row)

    def get(self, record_id: str) -> Record:
        """Find a record by its id; `Missing` when there is none."""
        with self._read() as session:
            return record_of(existing_row(session, record_id))

    def latest(self, kind: str) -> Record | None:
        """Find the record of a kind that was written last; only a later one could supersede it."""
        query = select(RecordRow).where(RecordRow.kind == kind).order_by(RecordRow.number.desc()).limit(1)
        with self._read() as session:
            row = session.scalar(query)
            return None if row is None else record_of(row)

    def all(self, kind: str | None = None) -> tuple[Record, ...]:
        """List the records, or those of one kind, in the order of writing, superseded ones included."""
        query = select(RecordRow).order_by(RecordRow.number)
        if kind is not None:
            query = query.where(RecordRow.kind == kind)
        with self._read() as session:
            return tuple(record_of(row) for row in session.scalars(query))

    def add_file(self, source: Path | bytes, *, kind: str, at_utc: str, name: str = "") -> StoredFile:
        """Keep a copy of a file under its SHA-256; content that is there already keeps its first entry.

        ``name`` is what it is called, by default the name of the path. Raises `Missing` when it cannot be
        read or copied.
        """
        check_utc(at_utc)
        called = name or (source.name if isinstance(source, Path) else "")
        if not called:
            raise Malformed("Bytes without a name cannot be kept as a file. Give them a name.")
        sha256, size_bytes = store(source, self._files)
        with self._write() as session:
            row = session.get(FileRow, sha256)
            if row is None:
                row = FileRow(sha256=sha256, name=called, bytes=size_bytes, kind=kind, at_utc=at_utc)
                session.add(row)
        return file_of(row, self._files)

    def file(self, sha256: str) -> StoredFile:
        """Find a stored file by its hash; `Missing` when there is none."""
        with self._read() as session:
            row = session.get(FileRow, sha256)
        if row is None:
            raise Missing(f"The journal keeps no file {sha256}. Name one that it lists.")
        return file_of(row, self._files)

    def files(self) -> tuple[StoredFile, ...]:
        """List the stored files by time."""
        with self._read() as session:
            rows = session.scalars(select(FileRow).order_by(FileRow.at_utc, FileRow.sha256))
            return tuple(file_of(row, self._files) for row in rows)

    @contextmanager
    def _read(self) -> Iterator[Session]:
        with spoken(self._path), Session(self._engine) as session:
            yield session

    @contextmanager
    def _write(self) -> Iterator[Session]:
        writer = writing(self._engine)
        with spoken(self._path), Session(writer, expire_on_commit=False) as session, session.begin():
            yield session


def _path_of(place: Path | str) -> Path:
    """Read a path or a URL; only SQLite has migrations with the rules of an append-only record."""
    if isinstance(place, Path) or "://" not in place:
        return Path(place)
    url = make_url(place)
    if url.get_backend_name() != "sqlite" or not url.database:
        raise Malformed(f"The journal is at {place}, but it can only be kept in SQLite. Name a file.")
    return Path(url.database)
