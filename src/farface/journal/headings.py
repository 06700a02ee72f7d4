"""List the journal by headings, which leave the bodies unread, so that long journals list fast."""

from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import String, cast, or_, select
from sqlalchemy.orm import aliased

from farface.journal.schema import RecordRow
from farface.journal.store import Journal


@dataclass(frozen=True, slots=True, kw_only=True)
class Heading:
    """Hold what a list shows of a record; ``newer`` is the number of the one that supersedes it."""

    number: int
    id: str
    kind: str
    at_utc: str
    title: str
    reason: str
    withdrawn: bool
    newer: int | None

    @property
    def state(self) -> str:
        """Say whether the record stands."""
        if self.newer is not None:
            return f"superseded by {self.newer}"
        return "withdrawn" if self.withdrawn else "stands"


def headings(
    journal: Journal,
    *,
    count: int | None = None,
    before: int | None = None,
    kinds: Sequence[str] = (),
    words: Sequence[str] = (),
) -> tuple[Heading, ...]:
    """List the last ``count`` records, those ``before`` a number or of some kinds, in their order.

    Each of the ``words`` must stand in the title, the reason or what the record says, in any case of letters.
    """
    newer = aliased(RecordRow)
    shown = (
        *(RecordRow.number, RecordRow.id, RecordRow.kind, RecordRow.at_utc, RecordRow.title),
        *(RecordRow.reason, RecordRow.withdrawn, newer.number.label("newer")),
    )
    query = select(*shown).outerjoin(newer, newer.supersedes == RecordRow.id)
    if kinds:
        query = query.where(RecordRow.kind.in_(kinds))
    if before is not None:
        query = query.where(RecordRow.number < before)
    said = (RecordRow.title, RecordRow.reason, RecordRow.kind, cast(RecordRow.body, String))
    for word in words:
        query = query.where(or_(*(part.icontains(word, autoescape=True) for part in said)))
    query = query.order_by(RecordRow.number.desc()).limit(count)
    with journal.reading() as session:
        return tuple(Heading(**row._mapping) for row in session.execute(query))[::-1]
