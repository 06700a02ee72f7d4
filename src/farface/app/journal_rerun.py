"""Compute a record again from what it rests on, in a bench of its own, and compare the numbers."""

import shutil
import tempfile
from collections.abc import Iterable
from pathlib import Path
from typing import Any, Final

from farface import __version__
from farface.app.answer import Answer
from farface.app.journal_diff import Difference, differences
from farface.app.journal_open import OpenJournal
from farface.app.reruns import NOT_COMPUTED, RERUNS, Rerun, file_name
from farface.app.workbench import open_workbench
from farface.files.bench_folder import make_bench
from farface.journal import Journal, Record, adopt
from farface.kernel import Missing
from farface.report.content import Table

_SHOWN: Final = 20
# Roles of the files that a record read; its request names them.
READ: Final = ("drawing", "film", "layout", "measured", "ladder")
# What a repetition need not repeat: who cleared a plan, and when.
_APART: Final = ("cleared",)


def rerun(opened: OpenJournal, meant: str) -> Answer:
    """Compute a record again with its own inputs, request and seed; the bench itself stays as it is.

    Pictures that come out identical to ones that the journal lost are put back. Raises `Missing` for what
    cannot be computed again, or when an input is gone.
    """
    journal = opened.journal
    record = journal.meant(meant)
    compute = _how(record)
    with tempfile.TemporaryDirectory() as name:
        again = _compute(journal, record, compute, Path(name) / "bench")
    found = list(differences(_numbers(record), _numbers(again)))
    return _answer(record, found)


def _how(record: Record) -> Rerun:
    """Find how a record is computed again; `Missing` says why one is not."""
    which = f"Record {record.number} ({record.kind})"
    if record.withdrawn:
        raise Missing(f"{which} takes another one back, and computes nothing. Name the one it took back.")
    if record.kind not in RERUNS:
        why = NOT_COMPUTED.get(record.kind, "is of a kind that this farface does not know")
        raise Missing(f"{which} {why}. These can be computed again: {', '.join(RERUNS)}.")
    if "request" not in record.body:
        raise Missing(
            f"{which} was written by farface {record.program_version} before it kept what was asked for, so "
            "it cannot be computed again. Run its command anew for a record that can."
        )
    try:
        return RERUNS[record.kind](record.body["request"])
    except (KeyError, TypeError, ValueError) as error:
        raise Missing(
            f"{which} was written by farface {record.program_version}, and does not say what farface "
            f"{__version__} needs to compute it again ({error}). Use that farface, or run its command anew."
        ) from error


def _compute(journal: Journal, record: Record, compute: Rerun, folder: Path) -> Record:
    """Lay out a bench with just what the record rests on, run the use case there, give what it wrote."""
    make_bench(folder)
    for item in record.inputs:
        if item.role in ("rig", "bath"):
            (folder / f"{item.role}.toml").write_bytes(journal.content(str(item.file)))
    read = folder.with_name("read")
    _lay_out(journal, record, read)
    grounds = _grounds(journal, record)
    with open_workbench(folder, seed=record.seed or 0) as work:
        _carry(journal, work.journal, grounds)
        compute(work, read)
        again = work.journal.last(1, (record.kind,))[0]
        _put_back(journal, work.journal, again)
    return again


def _lay_out(journal: Journal, record: Record, folder: Path) -> None:
    """Put the files that a record read into a folder, under the names that its request gives by role."""
    asked = record.body["request"]
    folder.mkdir()
    inside = folder / file_name(asked["folder"]) if asked.get("folder") else folder
    inside.mkdir(exist_ok=True)
    for role in READ:
        names = asked.get(role) or ()
        kept = [str(item.file) for item in record.inputs if item.role == role]
        for name, sha256 in zip([names] if isinstance(names, str) else names, kept, strict=False):
            shutil.copyfile(journal.whole(sha256).path, inside / file_name(name))


def _grounds(journal: Journal, record: Record) -> tuple[Record, ...]:
    """Find all records that one rests on, near and far, in the order of writing."""
    found: dict[str, Record] = {}
    wanted = [item.record for item in record.inputs if item.record]
    while wanted:
        one = wanted.pop()
        if one not in found:
            found[one] = journal.get(one)
            wanted += [item.record for item in found[one].inputs if item.record]
            wanted += [before for before in (found[one].supersedes,) if before]
    return tuple(sorted(found.values(), key=lambda one: one.number))


def _carry(source: Journal, target: Journal, records: Iterable[Record]) -> None:
    """Take records over with the files they rest on; one that is gone is carried as gone."""
    records = tuple(records)
    lost = []
    for sha256 in dict.fromkeys(item.file for record in records for item in record.inputs if item.file):
        file = source.file(sha256)
        if file.path.is_file():
            target.add_file(file.path, kind=file.kind, at_utc=file.at_utc, name=file.name)
        else:
            lost.append(file)
    adopt(target, records, lost)


def _put_back(journal: Journal, other: Journal, again: Record) -> None:
    """Write files that came out identical where the journal's copy is gone."""
    known = {file.sha256: file for file in journal.files()}
    for item in again.inputs:
        file = known.get(item.file or "")
        if file is not None and not file.path.is_file():
            journal.add_file(other.file(file.sha256).path, kind=file.kind, at_utc=file.at_utc, name=file.name)


def _by(found: list[Difference]) -> str:
    """Say by how much at most, where numbers differ."""
    shares = [
        abs(one.new - one.old) / max(abs(one.new), abs(one.old))
        for one in found
        if isinstance(one.old, int | float) and isinstance(one.new, int | float)
    ]
    return f", numbers by {max(shares):.1g} of themselves at most" if shares else ""


def _numbers(record: Record) -> dict[str, Any]:
    return {name: value for name, value in record.body["data"].items() if name not in _APART}


def _answer(record: Record, found: list[Difference]) -> Answer:
    said = [f"Every number of record {record.number} came out the same, to the last digit."]
    if found:
        said = [f"{len(found)} values of record {record.number} came out otherwise{_by(found)}."]
    if record.program_version != __version__:
        said.append(f"It was computed by farface {record.program_version}, and again by {__version__}.")
    rows = tuple((one.path, str(one.old)[:60], str(one.new)[:60]) for one in found[:_SHOWN])
    table = Table(caption="What differs", header=("where", "then", "now"), rows=rows)
    return Answer(
        title=f"Record {record.number} again: {record.title}",
        sentences=tuple(said),
        tables=(table,) if rows else (),
        data={
            "record": record.number,
            "same": not found,
            "differences": [{"path": one.path, "then": one.old, "now": one.new} for one in found],
        },
    )
