"""Export a whole bench, or a selection of its journal, as one ZIP that needs no farface to be read."""

import hashlib
import json
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

from farface import __version__
from farface.app.answer import Answer
from farface.app.journal_open import OpenJournal
from farface.app.workbench import now_utc
from farface.files.archive import name_fault, write_archive
from farface.files.bench_export import MANIFEST, NOTES, RECORDS, Kept, Manifest, Member
from farface.files.bench_folder import SUBFOLDERS, Bench
from farface.files.flat_tables import csv_bytes, flat, parquet_bytes
from farface.journal import Journal, Record, StoredFile, record_json, sha256_of
from farface.kernel import Malformed, Missing

_NAME_LETTERS: Final = 60


@dataclass(frozen=True, slots=True, kw_only=True)
class Selection:
    """Say what to export: records by number or id, kinds, those since a time; by default everything."""

    records: tuple[str, ...] = ()
    kinds: tuple[str, ...] = ()
    since: str | None = None

    @property
    def whole(self) -> bool:
        """Tell whether everything is meant."""
        return not (self.records or self.kinds or self.since)


@dataclass(slots=True, kw_only=True)
class _Parcel:
    """Gather what goes into the archive, each content once."""

    contents: dict[str, bytes | Path] = field(default_factory=dict)
    members: dict[str, Member] = field(default_factory=dict)
    by_hash: dict[str, str] = field(default_factory=dict)

    def add(self, name: str, content: bytes | Path, sha256: str, size_bytes: int) -> str:
        """Take a content under a name, or say under which one it is here already."""
        if sha256 in self.by_hash:
            return self.by_hash[sha256]
        self.contents[name] = content
        self.members[name] = Member(sha256=sha256, bytes=size_bytes)
        self.by_hash[sha256] = name
        return name

    def text(self, name: str, content: bytes) -> None:
        """Take a text that was made for the archive."""
        self.contents[name] = content
        self.members[name] = Member(sha256=hashlib.sha256(content).hexdigest(), bytes=len(content))


def export_bench(opened: OpenJournal, path: Path, selection: Selection | None = None) -> Answer:
    """Write the archive in one step, and a record that it was made; nothing in the bench changes."""
    selection = selection or Selection()
    journal, parcel = opened.journal, _Parcel()
    records = _chosen(journal, selection)
    kept, lost = _files(journal, records, parcel, whole=selection.whole)
    places, skipped = _places(opened.places, path, parcel) if selection.whole else ({}, ())
    _texts(parcel, records)
    manifest = Manifest(
        program_version=__version__, made_at_utc=now_utc(), bench=opened.places.folder.resolve().name,
        whole=selection.whole, records=len(records), members=parcel.members, files=kept, places=places,
    )  # fmt: skip
    hashes = {name: member.sha256 for name, member in parcel.members.items()}
    contents = {MANIFEST: manifest.as_bytes()} | parcel.contents
    sha256 = write_archive(path, [(name, content, hashes.get(name)) for name, content in contents.items()])
    facts = {
        "archive": path.name,
        "sha256": sha256,
        "records": len(records),
        "files": len(kept),
        "lost": list(lost),
    }
    journal.add(kind="export", title=f"Export {path.name}", body={"data": facts}, at_utc=now_utc())
    return Answer(
        title=f"Export of {opened.places.folder}",
        sentences=(
            f"{len(records)} records, {len(kept)} files, {len(places)} files of the folder.",
            *lost,
            *skipped,
        ),
        data=facts,
        files=(path,),
    )


def _chosen(journal: Journal, selection: Selection) -> tuple[Record, ...]:
    """Choose records with all they rest on and all revisions of them, in the order of writing."""
    every = journal.all()
    if selection.whole:
        return every
    meant = {journal.meant(text).id for text in selection.records}
    wanted = [
        record.id
        for record in every
        if record.id in meant or record.kind in selection.kinds or (selection.since or "~") <= record.at_utc
    ]
    if not wanted:
        raise Missing("No record is of that kind or that young. See `farface journal log` for what there is.")
    return _with_ground(every, wanted)


def _with_ground(every: Sequence[Record], wanted: list[str]) -> tuple[Record, ...]:
    by_id = {record.id: record for record in every}
    newer = {record.supersedes: record.id for record in every if record.supersedes}
    found: set[str] = set()
    while wanted:
        one = wanted.pop()
        if one in found:
            continue
        found.add(one)
        record = by_id[one]
        near = (*(item.record for item in record.inputs), record.supersedes, newer.get(one))
        wanted += [other for other in near if other is not None]
    return tuple(record for record in every if record.id in found)


def _files(
    journal: Journal, records: Sequence[Record], parcel: _Parcel, *, whole: bool
) -> tuple[tuple[Kept, ...], tuple[str, ...]]:
    """Take the stored files that the records rest on; name those whose content is damaged or gone."""
    users = {item.file: record for record in reversed(records) for item in record.inputs if item.file}
    kept, lost = [], []
    for file in journal.files():
        if file.sha256 not in users and not whole:
            continue
        member = None
        if sha256_of(file.path) == file.sha256:
            name = _member_name(file, users.get(file.sha256))
            member = parcel.add(name, file.path, file.sha256, file.size_bytes)
        else:
            lost.append(f"The {file.kind} {file.name} is damaged or missing and could not be taken along.")
        kept.append(
            Kept(sha256=file.sha256, name=file.name, bytes=file.size_bytes, kind=file.kind,
                 at_utc=file.at_utc, member=member)
        )  # fmt: skip
    return tuple(kept), tuple(lost)


def _member_name(file: StoredFile, user: Record | None) -> str:
    """Name a stored file by the first record that rests on it, so that a person finds it."""
    folder = "unused" if user is None else f"{user.number:05d}-{_safe(user.kind)}"
    return f"files/{folder}/{file.sha256[:8]}-{_safe(file.name)}"


def _safe(name: str) -> str:
    """Keep of a name what every system takes."""
    stem, dot, end = name.rpartition(".")
    kept = "".join(letter if letter.isalnum() or letter in "-_. " else "_" for letter in stem or end)
    return (kept.strip(". ")[:_NAME_LETTERS] or "file") + (dot + end[:12] if stem and end.isalnum() else "")


def _places(places: Bench, path: Path, parcel: _Parcel) -> tuple[dict[str, str], tuple[str, ...]]:
    """Take the bench's own files: rig, bath, and what lies in its folders but for the journal's copies."""
    found, skipped = {}, []
    for source in _own_files(places):
        name = source.relative_to(places.folder).as_posix()
        if source.is_symlink() or source.resolve() == path.resolve():
            skipped.append(f"{name} is a link, or this archive, and was left out.")
            continue
        sha256 = sha256_of(source)
        if sha256 is None:
            raise Malformed(f"{source} cannot be read. Ask for the right to read it, or move it away.")
        if name_fault(name) is not None:
            plain = f"{name.partition('/')[0]}/{sha256[:8]}-{_safe(source.name)}"
            skipped.append(f"{name} has a name that not every system takes; the archive calls it {plain}.")
            name = plain
        found[name] = parcel.add(f"bench/{name}", source, sha256, source.stat().st_size)
    return found, tuple(skipped)


def _own_files(places: Bench) -> Iterator[Path]:
    for single in (places.rig, places.bath):
        if single.is_file():
            yield single
    kept_apart = places.runs / "files"
    for folder in SUBFOLDERS:
        for source in sorted((places.folder / folder).rglob("*")):
            unfinished = source.name.startswith(".") and source.name.endswith(".part")
            if source.is_file() and kept_apart not in source.parents and not unfinished:
                yield source


def _texts(parcel: _Parcel, records: Sequence[Record]) -> None:
    lines = (json.dumps(record_json(record), allow_nan=False) + "\n" for record in records)
    parcel.text(RECORDS, "".join(lines).encode())
    parcel.text("README.txt", NOTES.encode())
    for name, rows in _tables(records).items():
        if rows:
            parcel.text(f"{name}.csv", csv_bytes(rows))
            parcel.text(f"{name}.parquet", parquet_bytes(rows))


def _tables(records: Iterable[Record]) -> dict[str, list[dict[str, Any]]]:
    """Lay out what people compute with: one row a record, an outcome, a film, a flash, a bubble."""
    tables: dict[str, list[dict[str, Any]]] = {
        name: [] for name in ("records", "outcomes", "films", "flashes", "bubbles")
    }
    newer = {}
    records = tuple(records)
    for record in records:
        newer[record.supersedes] = record.number
    for record in records:
        head = {"record": record.number}
        tables["records"].append(_head(record) | {"superseded_by": newer.get(record.id)})
        stands = {"stands": record.id not in newer and not record.withdrawn}
        data = record.body.get("data") or {}
        for outcome in data.get("outcomes") or () if record.kind == "outcomes" else ():
            tables["outcomes"].append(head | stands | flat(outcome))
        reading = data.get("reading") if record.kind == "footage" else None
        if reading:
            reading = dict(reading)
            flashes, bubbles = reading.pop("flashes"), reading.pop("bubbles")
            tables["films"].append(
                head | stands | {"plate": data["plate"]} | flat(data["setting"]) | flat(reading)
            )
            tables["flashes"] += [head | stands | flat(flash) for flash in flashes]
            tables["bubbles"] += [head | stands | flat(bubble) for bubble in bubbles]
    return tables


def _head(record: Record) -> dict[str, Any]:
    names = ("number", "id", "kind", "at_utc", "program_version", "seed", "title", "supersedes", "reason")
    return {name: getattr(record, name) for name in (*names, "withdrawn", "sha256")}
