"""Look into the journal: search it, show a record with its pictures, set two side by side."""

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Final

from farface.app.answer import Answer, Json, plain
from farface.app.job_book import JobBook
from farface.app.jobs import job_data
from farface.app.journal_diff import compare
from farface.app.journal_log import show_record
from farface.app.journal_open import OpenJournal
from farface.app.told_again import told_again
from farface.files.bench_folder import Bench
from farface.journal import Heading, Record, headings
from farface.kernel import Missing
from farface.report.content import Table

SHOWN: Final = 40
FOLDED: Final = 6
_LONGEST: Final = 90
EXPORT: Final = "export.zip"
_GROUPS: Final = (
    ("What they say", ("kind", "title", "sentences", "withdrawn")),
    ("What was asked, and what it rests on", ("request", "inputs", "seed", "program_version")),
    ("What was found", ("data",)),
    ("How it was laid out", ("",)),
)


def search_journal(
    opened: OpenJournal, *, find: str = "", kind: str = "", before: int | None = None
) -> Answer:
    """List the last records that hold every word, the newest first, or those ``before`` a number."""
    kinds = (kind,) if kind else ()
    found = headings(opened.journal, count=SHOWN + 1, before=before, kinds=kinds, words=find.split())[::-1]
    shown, more = found[:SHOWN], len(found) > SHOWN
    total = opened.journal.count()
    data: dict[str, Json] = {
        "find": find, "kind": kind, "kinds": _kinds(opened), "total": total,
        "records": [_heading(one) for one in shown], "earlier": shown[-1].number if more else None,
        "export": _export(opened.places.folder),
    }  # fmt: skip
    words = f"{total} records, none ever edited or taken out."
    if find or kind:
        words = f"{len(shown)}{'+' if more else ''} of {words}"
    return Answer(title="Journal", sentences=(words,), data=data)


def look_at_record(opened: OpenJournal, meant: str) -> Answer:
    """Show one record: what it says with its pictures, what it rests on, and what became of it."""
    journal = opened.journal
    record = journal.meant(meant)
    told, newer = show_record(opened, meant), journal.newer(record.id)
    data = dict(told.data) | {
        "grounds": [_ground(opened, record, k) for k in range(len(record.inputs))],
        "resting": [_short(one) for one in journal.resting_on(record.id)],
        "newer": None if newer is None else _short(newer),
        "supersedes_number": None if record.supersedes is None else journal.get(record.supersedes).number,
    }
    pictures = told_again(journal, record).pictures
    return Answer(
        title=told.title, sentences=told.sentences, tables=told.tables, pictures=pictures, data=plain(data)
    )


def compare_records(opened: OpenJournal, which: Sequence[str]) -> Answer:
    """Set two records side by side, or one and the one before it: what differs, and the pictures of both."""
    if not 1 <= len(which) <= 2:
        raise Missing(f"{len(which)} records were ticked. Tick two to compare them.")
    named = sorted({opened.journal.meant(text).number for text in which})
    told = compare(opened, *map(str, named))
    pair = [opened.journal.meant(str(told.data[side])) for side in ("old", "new")]
    pictures = [told_again(opened.journal, record).pictures for record in pair]
    data = dict(told.data) | {"pair": [_short(one) for one in pair], "pictures": [len(p) for p in pictures]}
    alike = len({one.kind.removesuffix("-prior") for one in pair}) == 1
    kinds = () if alike else ("They are of different kinds, so little is comparable.",)
    groups = tuple(_grouped(told.data["differences"], [f"record {one.number}" for one in pair]))
    return Answer(
        title=f"Records {pair[0].number} and {pair[1].number}", sentences=(told.sentences[0], *kinds),
        tables=tuple(table for _, table in groups), pictures=(*pictures[0], *pictures[1]),
        data=data | {"groups": [caption for caption, _ in groups]},
    )  # fmt: skip


def _grouped(found: Sequence[Mapping[str, Json]], names: Sequence[str]) -> Iterator[tuple[str, Table]]:
    """Part what differs into what was said, asked, found and how it was laid out; fold long lists."""
    left = [dict(one) for one in found]
    for caption, starts in _GROUPS:
        here = [one for one in left if one["path"].startswith(starts)]
        left = [one for one in left if one not in here]
        stems: dict[str, list[dict[str, Json]]] = {}
        for one in here:
            stems.setdefault(one["path"].partition("[")[0], []).append(one)
        rows = tuple(row for stem, ones in stems.items() for row in _rows(stem, ones))
        if rows:
            yield caption, Table(header=("where", *names), rows=rows)


def _rows(stem: str, ones: list[dict[str, Json]]) -> Iterator[tuple[str, str, str]]:
    """Write a row a value, or one row for a long list."""
    if len(ones) > FOLDED:
        first = ones[0]
        yield f"{stem}: {len(ones)} values", f"first {_cell(first['old'])}", f"first {_cell(first['new'])}"
        return
    for one in ones:
        yield one["path"], _cell(one["old"]), _cell(one["new"])


def _cell(value: Json) -> str:
    """Write a value in a cell, numbers to the digits that a person reads."""
    if isinstance(value, float):
        return f"{value:.6g}"
    text = "" if value is None else str(value)
    return text if len(text) <= _LONGEST else f"{text[: _LONGEST - 1]}…"


def export_path(places: Bench) -> Path:
    """Name the file that an export from the pages is written to."""
    return places.reports / EXPORT


def exported_file(folder: Path) -> Path:
    """Find the last export; `Missing` when there is none."""
    path = export_path(Bench(folder=folder))
    if not path.is_file():
        raise Missing("Nothing was exported from here yet. Start an export first.")
    return path


def _export(folder: Path) -> dict[str, Json]:
    last = next(iter(JobBook(folder).last(1, kind="export")), None)
    return {
        "job": None if last is None or last.state == "done" else job_data(last),
        "ready": export_path(Bench(folder=folder)).is_file(),
    }


def _kinds(opened: OpenJournal) -> list[str]:
    return sorted({one.kind for one in headings(opened.journal)})


def _heading(one: Heading) -> dict[str, Json]:
    return dict(plain(one)) | {"state": one.state}


def _short(record: Record) -> dict[str, Json]:
    return {"number": record.number, "kind": record.kind, "title": record.title, "at_utc": record.at_utc}


def _ground(opened: OpenJournal, record: Record, k: int) -> dict[str, Json]:
    """Tell one thing that a record rests on: another record, or a file that the journal keeps."""
    item = record.inputs[k]
    if item.record is not None:
        return {"role": item.role, "record": _short(opened.journal.get(item.record)), "file": None}
    try:
        file = opened.journal.file(str(item.file))
    except Missing:
        return {"role": item.role, "record": None, "file": None}
    return {"role": item.role, "record": None, "file": {"sha256": file.sha256, "name": file.name}}
