"""Tell two records apart, value by value."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Final

from farface.app.answer import Answer
from farface.app.journal_open import OpenJournal
from farface.journal import Journal, Record
from farface.kernel import Missing
from farface.report.content import Table

_SHOWN: Final = 200
_LONGEST: Final = 60
_HEADS: Final = ("kind", "title", "program_version", "seed", "withdrawn")


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """Hold one value that differs: where it stands, and what it is on either side; None where absent."""

    path: str
    old: Any
    new: Any


def differences(old: Any, new: Any, path: str = "") -> Iterator[Difference]:
    """Walk two values of JSON side by side and yield what differs."""
    if isinstance(old, dict) and isinstance(new, dict):
        for key in [*old, *(key for key in new if key not in old)]:
            yield from differences(old.get(key), new.get(key), f"{path}.{key}" if path else str(key))
    elif isinstance(old, list) and isinstance(new, list):
        for index in range(max(len(old), len(new))):
            left, right = (side[index] if index < len(side) else None for side in (old, new))
            yield from differences(left, right, f"{path}[{index}]")
    elif old != new or type(old) is not type(new):
        yield Difference(path=path, old=old, new=new)


def compare(opened: OpenJournal, first: str, second: str | None = None) -> Answer:
    """Compare two records; with one only, compare it with the one it supersedes, or the one before it."""
    new = opened.journal.meant(second or first)
    old = opened.journal.meant(first) if second else _before(opened.journal, new)
    found = tuple(differences(_plain(old), _plain(new)))
    rows = tuple((one.path, _short(one.old), _short(one.new)) for one in found[:_SHOWN])
    count = f"{len(found)} values differ." if found else "They say the same."
    more = (f"The first {_SHOWN} are shown; --json gives all.",) if len(found) > _SHOWN else ()
    table = Table(header=("where", f"record {old.number}", f"record {new.number}"), rows=rows)
    return Answer(
        title=f"Record {old.number} ({old.title}) and record {new.number} ({new.title})",
        sentences=(count, *more),
        tables=(table,) if rows else (),
        data={
            "old": old.number,
            "new": new.number,
            "differences": [{"path": one.path, "old": one.old, "new": one.new} for one in found],
        },
    )


def _before(journal: Journal, record: Record) -> Record:
    """Find what a record is naturally compared with."""
    if record.supersedes is not None:
        return journal.get(record.supersedes)
    earlier = [one for one in journal.all(record.kind) if one.number < record.number]
    if not earlier:
        raise Missing(
            f"Record {record.number} is the first {record.kind}. Name the record to compare it with."
        )
    return earlier[-1]


def _plain(record: Record) -> dict[str, Any]:
    inputs = {item.role: item.record or item.file for item in record.inputs if item.role != "picture"}
    return {name: getattr(record, name) for name in _HEADS} | {"inputs": inputs} | dict(record.body)


def _short(value: Any) -> str:
    text = "" if value is None else str(value)
    return text if len(text) <= _LONGEST else text[: _LONGEST - 1] + "…"
