"""List the journal, and show one record with all it rests on and all that rests on it."""

import json
from collections.abc import Sequence
from typing import Final

from farface.app.answer import Answer, plain
from farface.app.journal_open import OpenJournal
from farface.journal import Heading, Journal, Record, headings, record_json
from farface.kernel import Missing
from farface.report.content import Table

SHOWN: Final = 30
_ID_LETTERS: Final = 8
_HASH_LETTERS: Final = 12
_BODY_LINES: Final = 60
_FILE: Final = ("sha256", "name", "size_bytes", "kind", "at_utc")


def list_records(
    opened: OpenJournal, *, count: int | None = SHOWN, before: int | None = None, kinds: Sequence[str] = ()
) -> Answer:
    """List the last records, those before a number, or those of some kinds."""
    found = headings(opened.journal, count=count, before=before, kinds=kinds)
    total = opened.journal.count()
    rows = tuple(
        (str(one.number), one.id[:_ID_LETTERS], _time(one.at_utc), one.kind, one.title, _state(one))
        for one in found
    )
    return Answer(
        title=f"Journal of {opened.places.folder}",
        sentences=(f"{len(found)} of {total} records.", *_more(found)),
        tables=(Table(header=("number", "id", "time (UTC)", "kind", "title", "state"), rows=rows),),
        data={"total": total, "records": [plain(one) | {"state": one.state} for one in found]},
    )


def list_files(opened: OpenJournal) -> Answer:
    """List the files that the journal keeps copies of."""
    files = opened.journal.files()
    rows = tuple(
        (one.sha256[:_HASH_LETTERS], _time(one.at_utc), one.kind, one.name, f"{one.size_bytes}")
        for one in files
    )
    return Answer(
        title=f"Files kept by the journal of {opened.places.folder}",
        sentences=(f"{len(files)} files, {sum(one.size_bytes for one in files) / 1e6:.3g} MB.",),
        tables=(Table(header=("sha256", "time (UTC)", "kind", "name", "bytes"), rows=rows),),
        data={"files": [{name: getattr(one, name) for name in _FILE} for one in files]},
    )


def show_record(opened: OpenJournal, meant: str) -> Answer:
    """Show one record: what it says, what it rests on, what rests on it, and what became of it."""
    journal = opened.journal
    record = journal.meant(meant)
    return Answer(
        title=f"Record {record.number}: {record.title}",
        sentences=(*_sentences(journal, record), *record.body.get("sentences", ())),
        tables=(_facts(record), _inputs(journal, record), *_told(record)),
        data=record_json(record),
    )


def _more(found: Sequence[Heading]) -> tuple[str, ...]:
    if not found or found[0].number == 1:
        return ()
    return (f"Earlier ones: --before {found[0].number}.",)


def _time(at_utc: str) -> str:
    return at_utc[:19].replace("T", " ")


def _state(heading: Heading) -> str:
    return f"{heading.state}: {heading.reason}" if heading.reason else heading.state


def _sentences(journal: Journal, record: Record) -> tuple[str, ...]:
    said = []
    if record.supersedes is not None:
        verb = "Withdraws" if record.withdrawn else "Supersedes"
        said.append(f"{verb} record {journal.get(record.supersedes).number}: {record.reason}")
    newer = journal.newer(record.id)
    if newer is not None:
        became = "withdrawn" if newer.withdrawn else "superseded"
        said.append(f"It was {became} by record {newer.number}: {newer.reason}")
    resting = journal.resting_on(record.id)
    if resting:
        said.append("On it rest " + ", ".join(f"{one.kind} {one.number}" for one in resting) + ".")
    return tuple(said)


def _facts(record: Record) -> Table:
    seed = "none" if record.seed is None else str(record.seed)
    rows = (
        ("kind", record.kind), ("id", record.id), ("time (UTC)", _time(record.at_utc)),
        ("farface", record.program_version), ("seed", seed), ("sha256", record.sha256),
    )  # fmt: skip
    return Table(caption="The record", header=("what", "value"), rows=rows)


def _inputs(journal: Journal, record: Record) -> Table:
    rows = []
    for item in record.inputs:
        if item.record is not None:
            ground = journal.get(item.record)
            rows.append((item.role, f"record {ground.number}: {ground.title}", ground.sha256[:_HASH_LETTERS]))
        else:
            rows.append((item.role, _file_name(journal, str(item.file)), str(item.file)[:_HASH_LETTERS]))
    return Table(
        caption="What it rests on",
        header=("as", "what", "sha256"),
        rows=tuple(rows) or (("", "nothing", ""),),
    )


def _file_name(journal: Journal, sha256: str) -> str:
    try:
        return f"file {journal.file(sha256).name}"
    except Missing:
        return "a file that is gone"


def _told(record: Record) -> tuple[Table, ...]:
    """Lay out the tables that the record told, or its body where it told none."""
    told = tuple(
        Table(caption=t["caption"], header=tuple(t["header"]), rows=tuple(map(tuple, t["rows"])))
        for t in record.body.get("tables", ())
    )
    if told or not record.body:
        return told
    lines = json.dumps(dict(record.body), indent=1, ensure_ascii=False).splitlines()
    cut = [] if len(lines) <= _BODY_LINES else [f"… {len(lines) - _BODY_LINES} lines more: --json"]
    return (
        Table(
            caption="What it says",
            header=("JSON",),
            rows=tuple((line,) for line in lines[:_BODY_LINES] + cut),
        ),
    )
