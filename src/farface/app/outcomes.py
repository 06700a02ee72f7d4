"""Take a filled bench sheet into the journal: all rows, or none."""

from collections import Counter
from collections.abc import Iterable
from pathlib import Path
from typing import Final

from pydantic import TypeAdapter

from farface.app.answer import Answer, plain
from farface.app.workbench import Correction, Workbench
from farface.files.outcomes_file import OutcomesRead, photo_of, read_outcomes
from farface.files.same_file import check_unchanged, state_of
from farface.journal import Input, Record
from farface.kernel import Missing
from farface.records import SEEN, Outcome
from farface.report.content import Table

_OUTCOMES: Final = TypeAdapter(tuple[Outcome, ...])


def take_outcomes(
    work: Workbench, path: Path, *, correction: Correction | None = None, more: tuple[Input, ...] = ()
) -> Answer:
    """Read a CSV of outcomes; where a cell was read before, the later reading counts.

    With a ``correction`` it takes the place of an earlier reading, and says why. ``more`` is what else it
    rests on, such as the trail of how it was typed.
    """
    before = state_of(path)
    read = read_outcomes(path, deepest_m=work.rig.plate.thickness_m.value)
    _check(read, path)
    counted = Counter(outcome.seen for outcome in read.outcomes)
    depths = sum(outcome.depth is not None for outcome in read.outcomes)
    plates = sorted({outcome.plate for outcome in read.outcomes})
    rows = tuple((seen.replace("_", " "), str(counted.get(seen, 0))) for seen in SEEN)
    answer = Answer(
        title=f"Outcomes of {', '.join(plates)}",
        sentences=(
            f"{len(read.outcomes)} cells read, {depths} with a depth; {read.blank} rows not run yet.",
        ),
        tables=(Table(caption="What was seen", header=("outcome", "cells"), rows=rows),),
        data={"plates": plain(plates), "counts": plain(counted), "outcomes": plain(read.outcomes)},
    )
    kept = work.keep(path, kind="outcomes-table")
    photos = tuple(work.keep(photo_of(path, o), kind="photo") for o in read.outcomes if o.photo)
    check_unchanged(path, before)
    work.publish("outcomes", answer, inputs=(kept, *dict.fromkeys(photos), *more), correction=correction)
    return answer


def known_outcomes(records: Iterable[Record]) -> tuple[Outcome, ...]:
    """Return every cell's last outcome in records of the journal; a cell read twice counts once."""
    latest: dict[tuple[str, str], Outcome] = {}
    for record in records:
        for outcome in _OUTCOMES.validate_python(record.body["data"]["outcomes"]):
            latest[outcome.plate, outcome.cell] = outcome
    return tuple(latest.values())


def _check(read: OutcomesRead, path: Path) -> None:
    if not read.outcomes:
        raise Missing(
            f'{path.name} has no row with something in "seen". Fill in what was seen and read it again.'
        )
