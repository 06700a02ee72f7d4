"""Hold what a record must satisfy before the journal takes it."""

from datetime import datetime, timedelta
from typing import Final

from sqlalchemy import select
from sqlalchemy.orm import Session

from farface.journal.schema import FileRow, RecordRow
from farface.kernel import Malformed, Missing, OutOfRange

_SEED_MAX: Final = 2**63 - 1


def check_utc(at_utc: str) -> None:
    """Refuse a time that is not ISO 8601 in UTC."""
    try:
        utc = datetime.fromisoformat(at_utc).utcoffset() == timedelta(0)
    except ValueError:
        utc = False
    if not utc:
        raise Malformed(f'The time is "{at_utc}", but the journal takes ISO 8601 in UTC. Write it so.')


def check_seed(seed: int | None) -> None:
    """Refuse a seed that the database cannot hold."""
    if seed is not None and not 0 <= seed <= _SEED_MAX:
        raise OutOfRange(f"The seed is {seed}, but it must lie between 0 and {_SEED_MAX}. Choose another.")


def check_words(*words: str) -> None:
    """Refuse a text that a database cannot hold: one with the sign NUL, or with half a character."""
    for text in words:
        if "\0" in text or (not text.isprintable() and _is_broken(text)):
            raise Malformed(f"{text!r} holds signs that are no text. Write it again without them.")


def _is_broken(text: str) -> bool:
    try:
        text.encode("utf-8")
    except UnicodeEncodeError:
        return True
    return False


def vouched_inputs(session: Session, inputs: list[dict[str, str]]) -> list[dict[str, str]]:
    """Give each input with the hash of the record it names; refuse what is not in the journal."""
    vouched = []
    for item in inputs:
        if "record" in item:
            item = item | {"sha256": existing_row(session, item["record"]).sha256}
        elif session.get(FileRow, item["file"]) is None:
            raise Missing(f"The journal keeps no file {item['file']}. Add the file before what rests on it.")
        vouched.append(item)
    return vouched


def check_correction(session: Session, row: RecordRow) -> None:
    """Hold corrections to a chain of records of one kind, each with its reason."""
    if row.supersedes is None:
        return
    old = existing_row(session, row.supersedes)
    if not row.reason.strip():
        raise Malformed(f'The correction of "{old.title}" gives no reason. Say why it replaces the old one.')
    if old.kind != row.kind:
        raise Malformed(f"A record of {row.kind} cannot supersede one of {old.kind}. Add it by itself.")
    newer = session.scalar(select(RecordRow).where(RecordRow.supersedes == old.id))
    if newer is not None:
        raise Malformed(f'"{old.title}" was superseded already by record {newer.number}. Correct that one.')


def existing_row(session: Session, record_id: str) -> RecordRow:
    """Find a row; `Missing` when there is none."""
    row = session.get(RecordRow, record_id)
    if row is None:
        raise Missing(f"The journal has no record {record_id}. Name one that it lists.")
    return row
