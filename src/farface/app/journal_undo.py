"""Undo what a record did, by a new record: nothing is ever taken out of the journal."""

from farface.app.answer import Answer
from farface.app.journal_open import OpenJournal
from farface.app.workbench import now_utc
from farface.journal import Journal, Record
from farface.kernel import Malformed


def undo(opened: OpenJournal, meant: str, *, why: str) -> Answer:
    """Put back what stood before a record: what it superseded, or nothing.

    Undoing an undoing brings the record back. Raises `Malformed` when no reason is given or the record was
    superseded already, for then the newer one must be undone first.
    """
    journal = opened.journal
    record = journal.meant(meant)
    if not why.strip():
        raise Malformed('An undoing needs a reason. Give one with --why "…".')
    newer = journal.newer(record.id)
    if newer is not None:
        raise Malformed(
            f'Record {record.number} was superseded already by record {newer.number}, "{newer.title}". '
            f"Undo that one."
        )
    before = None if record.supersedes is None else journal.get(record.supersedes)
    written = _revision(journal, record, before, reason=f"undoes record {record.number}: {why.strip()}")
    resting = journal.resting_on(record.id)
    return Answer(
        title=f"Record {record.number} is undone by record {written.number}",
        sentences=(_stands(record, before, written), *_warning(resting)),
        data={
            "undone": record.number,
            "written": written.number,
            "withdrawn": written.withdrawn,
            "resting": [one.number for one in resting],
        },
    )


def _revision(journal: Journal, record: Record, before: Record | None, *, reason: str) -> Record:
    """Write the new record with what stood before, whatever wrote that."""
    if before is None:
        return journal.add(
            kind=record.kind, title=record.title, body={}, at_utc=now_utc(), supersedes=record.id,
            reason=reason, withdrawn=True,
        )  # fmt: skip
    return journal.add(
        kind=before.kind, title=before.title, body=before.body, at_utc=now_utc(), seed=before.seed,
        inputs=before.inputs, supersedes=record.id, reason=reason, withdrawn=before.withdrawn,
    )  # fmt: skip


def _stands(record: Record, before: Record | None, written: Record) -> str:
    if before is None or written.withdrawn:
        return f'"{record.title}" no longer counts; undo record {written.number} to bring it back.'
    return f'What record {before.number} said, "{before.title}", stands again.'


def _warning(resting: tuple[Record, ...]) -> tuple[str, ...]:
    """Name what was computed from the record and was not undone with it."""
    if not resting:
        return ()
    named = ", ".join(f"{one.kind} {one.number}" for one in resting)
    return (f"On it rest {named}: run them again, or undo them too.",)
