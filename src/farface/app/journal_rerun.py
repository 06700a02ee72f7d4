"""Compute a record again from what it rests on, in a bench of its own, and compare the numbers."""

import tempfile
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path
from typing import Any, Final

from pydantic import TypeAdapter

from farface import __version__
from farface.app.answer import Answer, Json
from farface.app.draws import current_draws
from farface.app.explain import explain_one
from farface.app.journal_diff import Difference, differences
from farface.app.journal_open import OpenJournal
from farface.app.learn import learn_from_bench
from farface.app.part import PartOrder, plan_part
from farface.app.settings import Typed
from farface.app.window import map_window
from farface.app.workbench import Workbench, open_workbench
from farface.files.bench_folder import make_bench
from farface.journal import Journal, Record, adopt
from farface.kernel import Missing
from farface.records import Setting
from farface.report.content import Table

Request = Mapping[str, Json]
_SETTING: Final = TypeAdapter(Setting)
_SHOWN: Final = 20


def _window(work: Workbench, request: Request) -> None:
    map_window(work, Typed(**request["typed"]), x=request["x"], y=request["y"], prior=request["prior"])


def _explanation(work: Workbench, request: Request) -> None:
    etch = work.etch()
    draws = current_draws(work, etch, prior=request["prior"])
    explain_one(work, etch, _SETTING.validate_python(request["setting"]), draws)


def _fit(work: Workbench, request: Request) -> None:
    learn_from_bench(work, steps=request["steps"])


def _part(work: Workbench, request: Request) -> None:
    """Plan again, but clear nothing: a person clears a plan, and not its repetition."""
    drawing = work.places.drawings / _drawing(request)
    plan_part(
        work,
        Typed(**request["typed"]),
        PartOrder(drawing=drawing, depth=request["depth"], risk=request["risk"]),
    )


def _drawing(request: Request) -> str:
    """Give the drawing's bare name: a record from another bench must not reach past its folder."""
    return Path(str(request["drawing"])).name


# How each kind of record is computed again.
RERUNS: Final[dict[str, Callable[[Workbench, Request], None]]] = {
    "window": _window,
    "window-prior": _window,
    "explanation": _explanation,
    "fit": _fit,
    "part": _part,
}
# What a repetition need not repeat: who cleared a plan, and when.
_APART: Final = ("cleared",)


def rerun(opened: OpenJournal, meant: str) -> Answer:
    """Compute a record again with its own inputs, request and seed; the bench itself stays as it is.

    Pictures that come out identical to ones that the journal lost are put back. Raises `Missing` for a kind
    that cannot be computed again, or when an input is gone.
    """
    journal = opened.journal
    record = journal.meant(meant)
    if record.kind not in RERUNS or "request" not in record.body:
        raise Missing(
            f"Record {record.number} ({record.kind}) was typed or read, not computed, or does not say "
            f"what was "
            f"asked for. These can be computed again: {', '.join(RERUNS)}."
        )
    with tempfile.TemporaryDirectory() as name:
        again = _compute(journal, record, Path(name) / "bench")
    found = list(differences(_numbers(record), _numbers(again)))
    return _answer(record, found)


def _compute(journal: Journal, record: Record, folder: Path) -> Record:
    """Lay out a bench with just what the record rests on, run the use case there, give what it wrote."""
    places = make_bench(folder)
    for item in record.inputs:
        if item.role in ("rig", "bath"):
            (folder / f"{item.role}.toml").write_bytes(journal.content(str(item.file)))
        if item.role == "drawing":
            (places.drawings / _drawing(record.body["request"])).write_bytes(journal.content(str(item.file)))
    grounds = _grounds(journal, record)
    with open_workbench(folder, seed=record.seed or 0) as work:
        _carry(journal, work.journal, grounds)
        RERUNS[record.kind](work, record.body["request"])
        again = work.journal.last(1)[0]
        _put_back(journal, work.journal, again)
    return again


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
