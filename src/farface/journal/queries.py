"""Ask the journal which records stand, which rest on another, and which one a person means."""

from collections.abc import Sequence
from typing import Final

from sqlalchemy import ColumnElement, String, and_, cast, exists, select
from sqlalchemy.orm import Session, aliased

from farface.journal.schema import RecordRow
from farface.kernel import Malformed, Missing

# The start of an id that a person may type for the whole.
_LEAST_LETTERS: Final = 4
_MOST_DIGITS: Final = 9


def standing() -> ColumnElement[bool]:
    """Hold for a record that nothing superseded and that was not withdrawn."""
    newer = aliased(RecordRow)
    superseded = exists().where(newer.supersedes == RecordRow.id)
    return and_(RecordRow.withdrawn.is_(False), ~superseded)


def standing_rows(session: Session, kinds: Sequence[str]) -> list[RecordRow]:
    """Find the standing records of some kinds; a correction comes in the place of what it corrects."""
    rows = list(session.scalars(select(RecordRow).where(RecordRow.kind.in_(kinds), standing())))
    return sorted(rows, key=lambda row: _first_number(session, row))


def rows_resting_on(session: Session, record_id: str) -> list[RecordRow]:
    """Find the standing records that name another as an input."""
    named = cast(RecordRow.inputs, String).contains(record_id, autoescape=True)
    query = select(RecordRow).where(named, standing()).order_by(RecordRow.number)
    return [row for row in session.scalars(query) if any(i.get("record") == record_id for i in row.inputs)]


def row_meant(session: Session, text: str) -> RecordRow:
    """Find the record whose number or id, or the start of it, a person typed; a number goes first."""
    if text.isascii() and text.isdigit() and len(text) <= _MOST_DIGITS:
        row = session.scalar(select(RecordRow).where(RecordRow.number == int(text)))
        if row is not None:
            return row
    elif len(text) < _LEAST_LETTERS:
        raise Malformed(f'"{text}" names no record. Give its number, or the first letters of its id.')
    found: list[RecordRow] = []
    if len(text) >= _LEAST_LETTERS:
        start = RecordRow.id.startswith(text, autoescape=True)
        found = list(session.scalars(select(RecordRow).where(start).limit(2)))
    if len(found) > 1:
        raise Malformed(f'More than one record has an id that starts with "{text}". Give more of it.')
    if not found:
        raise Missing(f"The journal has no record {text}. Name one that `farface journal log` lists.")
    return found[0]


def _first_number(session: Session, row: RecordRow) -> int:
    """Give the number of the first record in a chain of corrections."""
    number, before = row.number, row.supersedes
    while before is not None:
        columns = select(RecordRow.number, RecordRow.supersedes).where(RecordRow.id == before)
        number, before = session.execute(columns).one()
    return number
