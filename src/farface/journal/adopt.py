"""Take records of another journal over as they are, under numbers of this one: all of them, or none."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session

from farface.journal.digest import record_sha256
from farface.journal.entries import Record, StoredFile
from farface.journal.rows import record_json
from farface.journal.rules import check_utc, check_words
from farface.journal.schema import FileRow, RecordRow
from farface.journal.store import Journal, next_number
from farface.kernel import Malformed


@dataclass(frozen=True, slots=True, kw_only=True)
class Conflict:
    """Name a foreign record that this journal cannot take, and say why."""

    record: Record
    sentence: str


def conflicts(journal: Journal, records: Sequence[Record]) -> tuple[Conflict, ...]:
    """Find the records that contradict this journal: changed ones, and second corrections of one record.

    Raises `Malformed` when a record does not say what it said when it was written.
    """
    for record in records:
        _check_whole(record)
    with journal.reading() as session:
        return tuple(_conflicts(session, records))


def adopt(journal: Journal, records: Sequence[Record], lost: Sequence[StoredFile] = ()) -> tuple[int, int]:
    """Add the records that are not here yet, in their order; give how many were added and how many were here.

    Files must be kept first, but for those whose content was ``lost`` before; these are entered as missing.
    Raises `Malformed`, and adds nothing, when a record was changed since it was written, contradicts this
    journal, or rests on what is neither here nor among those given.
    """
    for record in records:
        _check_whole(record)
    with journal.writing() as session:
        for conflict in _conflicts(session, records):
            raise Malformed(conflict.sentence)
        for file in lost:
            if session.get(FileRow, file.sha256) is None:
                session.add(_entry(file))
        number, added = next_number(session), 0
        for record in records:
            if session.get(RecordRow, record.id) is None:
                _check_ground(session, record)
                session.add(RecordRow(**record_json(record) | {"number": number + added}))
                session.flush()
                added += 1
    return added, len(records) - added


def _entry(file: StoredFile) -> FileRow:
    return FileRow(
        sha256=file.sha256, name=file.name, bytes=file.size_bytes, kind=file.kind, at_utc=file.at_utc
    )


def _check_whole(record: Record) -> None:
    """Refuse a record that does not say what it said when it was written."""
    check_utc(record.at_utc)
    check_words(record.id, record.kind, record.title, record.reason, record.program_version)
    try:
        fits = record_sha256(record_json(record)) == record.sha256
    except (RecursionError, ValueError):
        fits = False
    if not fits:
        raise Malformed(
            f'Record {record.number}, "{record.title}", was changed after it was written: its hash does not '
            "fit. Get an unchanged copy of it."
        )


def _conflicts(session: Session, records: Sequence[Record]) -> Iterator[Conflict]:
    for record in records:
        own = session.get(RecordRow, record.id)
        if own is not None:
            if own.sha256 != record.sha256:
                yield Conflict(record=record, sentence=_differs(record, own))
            continue
        if record.supersedes is not None:
            newer = session.scalar(select(RecordRow).where(RecordRow.supersedes == record.supersedes))
            if newer is not None:
                yield Conflict(record=record, sentence=_forks(record, newer))


def _differs(record: Record, own: RecordRow) -> str:
    return (
        f'Record {record.number}, "{record.title}", differs from record {own.number} of this journal, '
        f"which has "
        "the same id. One of the two was changed: check both journals."
    )


def _forks(record: Record, newer: RecordRow) -> str:
    return (
        f'Record {record.number}, "{record.title}", supersedes a record that record {newer.number} of this '
        f'journal, "{newer.title}", supersedes already. Keep one of the two corrections.'
    )


def _check_ground(session: Session, record: Record) -> None:
    """See that everything a record rests on is here, unchanged."""
    for item in record.inputs:
        if item.file is not None:
            if session.get(FileRow, item.file) is None:
                raise Malformed(
                    f'"{record.title}" rests on a file that is missing, {item.file}. Take it along.'
                )
            continue
        ground = session.get(RecordRow, item.record)
        if ground is None or item.sha256 not in (None, ground.sha256):
            raise Malformed(
                f'"{record.title}" rests on a record that is missing or was changed, {item.record}. Take '
                f"it along."
            )
    before = session.get(RecordRow, record.supersedes) if record.supersedes else None
    if record.supersedes and (before is None or before.kind != record.kind or not record.reason.strip()):
        raise Malformed(f'"{record.title}" corrects a record that is not here. Take that one along.')
