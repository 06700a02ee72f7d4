"""Import an exported bench into a new folder, or into a bench that has a record of its own."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from pydantic import TypeAdapter, ValidationError

from farface.app.answer import Answer
from farface.app.journal_open import OpenJournal, open_journal
from farface.app.workbench import now_utc
from farface.files.archive import Archive, open_archive
from farface.files.bench_export import Manifest, check_members, read_manifest, read_records
from farface.files.bench_places import Placed, check_places, place_files
from farface.journal import Conflict, Journal, Record, StoredFile, adopt, conflicts
from farface.kernel import Malformed, Refused

_NAMED: Final = 5
_RECORD: Final = TypeAdapter(Record)


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """Count what came over: records added, those here already, and those left out because of conflicts."""

    added: int
    here: int
    left_out: tuple[Conflict, ...]


def import_bench(
    archive: Path, folder: Path, *, keep_mine: bool = False, address: str | None = None
) -> Answer:
    """Take an export into a bench; what the bench holds already is never overwritten.

    Everything is read and checked before anything is written. Raises `Refused` and names the records where
    the two journals contradict each other, unless ``keep_mine`` leaves the archive's out.
    """
    with open_archive(archive) as opened_archive:
        manifest = read_manifest(opened_archive)
        check_members(opened_archive, manifest)
        records = tuple(_record(content) for content in read_records(opened_archive))
        if len(records) != manifest.records:
            raise Malformed(
                f"{archive.name} names {manifest.records} records but holds {len(records)}. Export again."
            )
        with open_journal(folder, address, make=True) as opened:
            check_places(opened.places, opened_archive, manifest.places)
            taken = _take_records(opened.journal, opened_archive, manifest, records, keep_mine=keep_mine)
            placed = place_files(opened.places, opened_archive, manifest.places)
            _write_down(opened.journal, archive, taken, placed)
            return _answer(opened, archive, taken, placed)


def _record(content: dict[str, Any]) -> Record:
    try:
        return _RECORD.validate_python(content)
    except (ValidationError, ValueError, RecursionError) as error:
        raise Malformed(
            f"Record {content.get('number')} of the archive is not as farface writes it. Export again."
        ) from error


def _take_records(
    journal: Journal, archive: Archive, manifest: Manifest, records: Sequence[Record], *, keep_mine: bool
) -> Taken:
    found = conflicts(journal, records)
    if found and not keep_mine:
        more = f" And {len(found) - _NAMED} more." if len(found) > _NAMED else ""
        named = " ".join(conflict.sentence for conflict in found[:_NAMED])
        raise Refused(
            f"{named}{more} Nothing was imported; --keep-mine leaves those records out, and what rests on "
            f"them."
        )
    wanted = _without({conflict.record.id for conflict in found}, records)
    lost = []
    for kept in manifest.files:
        if kept.member is None:
            lost.append(
                StoredFile(sha256=kept.sha256, name=kept.name, size_bytes=kept.bytes, kind=kept.kind,
                           at_utc=kept.at_utc, path=journal.place.files / kept.sha256)
            )  # fmt: skip
            continue
        journal.add_file(archive.pieces(kept.member), kind=kept.kind, at_utc=kept.at_utc, name=kept.name)
    added, here = adopt(journal, wanted, lost)
    return Taken(added=added, here=here, left_out=found)


def _without(left_out: set[str], records: Sequence[Record]) -> tuple[Record, ...]:
    """Leave out some records and all that rest on them."""
    kept = []
    for record in records:
        grounds = {item.record for item in record.inputs} | {record.supersedes, record.id}
        if grounds & left_out:
            left_out.add(record.id)
        else:
            kept.append(record)
    return tuple(kept)


def _write_down(journal: Journal, archive: Path, taken: Taken, placed: Placed) -> None:
    facts = {
        "archive": archive.name, "added": taken.added, "here_already": taken.here,
        "left_out": [conflict.sentence for conflict in taken.left_out], "aside": list(placed.aside),
    }  # fmt: skip
    if taken.added or placed.written or placed.aside:
        journal.add(kind="import", title=f"Import {archive.name}", body={"data": facts}, at_utc=now_utc())


def _answer(opened: OpenJournal, archive: Path, taken: Taken, placed: Placed) -> Answer:
    return Answer(
        title=f"Import of {archive.name} into {opened.places.folder}",
        sentences=(
            f"{taken.added} records added, {taken.here} were here already; {len(placed.written)} files "
            f"written, "
            f"{placed.same} were here already.",
            *(f"Left out: {conflict.sentence}" for conflict in taken.left_out),
            *placed.sentences,
        ),
        data={
            "added": taken.added, "here_already": taken.here, "written": list(placed.written),
            "aside": list(placed.aside), "left_out": [conflict.sentence for conflict in taken.left_out],
        },
    )  # fmt: skip
