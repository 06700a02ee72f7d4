"""Check a whole journal, say what can be put back or computed again, and put back what lies in the bench."""

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Final

from farface.app.answer import Answer
from farface.app.journal_open import OpenJournal
from farface.app.reruns import RERUNS
from farface.files.bench_folder import Bench, open_bench
from farface.files.journal_address import read_address
from farface.journal import Finding, Journal, StoredFile, audit, rescue, sha256_of
from farface.kernel import Refused

_NOTES_SHOWN: Final = 10


def check_journal(opened: OpenJournal, *, mend: bool = False) -> Answer:
    """Read every record and every stored file through; name each fault and the way out of it.

    With ``mend`` a stored file that is damaged or missing is put back from an identical one in the bench.
    """
    found = tuple(audit(opened.journal))
    faults, mended = [], []
    for finding in (one for one in found if one.weight == "fault"):
        twin = None if finding.file is None else _twin(opened.places, finding.file)
        if mend and twin is not None and finding.file is not None:
            _put_back(opened.journal, finding.file, twin)
            mended.append(f"{finding.sentence}: it was put back from {_shown(opened.places, twin)}.")
        else:
            faults.append(_with_way_out(opened, finding, twin))
    notes = [one.sentence for one in found if one.weight == "note"]
    return Answer(
        title=f"Check of the journal of {opened.places.folder}",
        sentences=(_verdict(opened, len(faults)), *faults, *mended, *_some(notes)),
        data={"faults": faults, "mended": mended, "notes": notes, "records": opened.journal.count()},
    )


def rescue_journal(folder: Path) -> Answer:
    """Put a new journal with all that can still be read in the place of a damaged one, which is kept."""
    places = open_bench(folder)
    address = read_address(places.address)
    if address is not None:
        raise Refused(
            f"The journal of this bench is at {address}: its server's keeper has the copies to restore."
        )
    done = rescue(places.journal)
    lost = f"Lost are the records {_ranges(done.lost)}." if done.lost else "No gap is left between them."
    return Answer(
        title=f"Rescue of {places.journal}",
        sentences=(
            f"{done.records} records and the entries of {done.files} files came over, each whole by its "
            f"hash. {lost}",
            f"The damaged file is kept as {done.damaged.name}; nothing was deleted. Run `farface journal "
            f"check` now.",
        ),
        data={
            "records": done.records,
            "files": done.files,
            "lost": list(done.lost),
            "kept": done.damaged.name,
        },
    )


def _verdict(opened: OpenJournal, faults: int) -> str:
    counted = f"{opened.journal.count()} records and {len(opened.journal.files())} files"
    if not faults:
        return f"All is well: {counted} are whole and say what they said when they were written."
    return f"{faults} faults among {counted}."


def _some(notes: Sequence[str]) -> tuple[str, ...]:
    more = len(notes) - _NOTES_SHOWN
    return (*notes[:_NOTES_SHOWN], *((f"{more} notes more: --json.",) if more > 0 else ()))


def _with_way_out(opened: OpenJournal, finding: Finding, twin: Path | None) -> str:
    """Say what a person can do about a fault."""
    file = finding.file
    if file is None:
        return f"{finding.sentence} Compare it with an export or another copy of the bench."
    if twin is not None:
        return f"{finding.sentence}. An identical one is {_shown(opened.places, twin)}: --mend puts it back."
    for record in opened.journal.standing(*RERUNS):
        made_here = {i.file for i in record.inputs if i.role in ("picture", "posterior")}
        if file.sha256 in made_here:
            return (
                f"{finding.sentence}. `farface journal rerun {record.number}` makes it again, if this "
                f"farface "
                "computes the same."
            )
    return f"{finding.sentence}. Import an export that holds it, or put a copy into the bench and use --mend."


def _twin(places: Bench, file: StoredFile) -> Path | None:
    """Find an identical file in the bench's own folders."""
    for path in _same_size(places, file.size_bytes):
        if sha256_of(path) == file.sha256:
            return path
    return None


def _same_size(places: Bench, size_bytes: int) -> Iterator[Path]:
    kept_apart = places.runs / "files"
    for path in sorted(places.folder.rglob("*")):
        if path.is_file() and kept_apart not in path.parents and path.stat().st_size == size_bytes:
            yield path


def _put_back(journal: Journal, file: StoredFile, twin: Path) -> None:
    journal.add_file(twin, kind=file.kind, at_utc=file.at_utc, name=file.name)


def _shown(places: Bench, path: Path) -> str:
    return path.relative_to(places.folder).as_posix()


def _ranges(numbers: Sequence[int]) -> str:
    """Write numbers in order, neighbours joined: 3, 5..8."""
    runs: list[list[int]] = []
    for number in numbers:
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    return ", ".join(str(run[0]) if len(run) == 1 else f"{run[0]}..{run[-1]}" for run in runs)
