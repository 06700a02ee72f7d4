"""Write to a bench as people and programs do, in a process that may be killed; say what was acknowledged."""

import hashlib
import io
import json
import os
import random
import signal
import time
import traceback
import zipfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from demo_bench import demo_bench
from farface.app.draws import as_npz
from farface.app.journal_export import export_bench
from farface.app.journal_import import import_bench
from farface.app.journal_open import OpenJournal, open_journal
from farface.app.journal_undo import undo
from farface.journal import Input, Journal, Record, audit

# Clocks jump: each record bears any of these times.
TIMES = ("2025-03-01T09:30:00+00:00", "2031-01-01T00:00:00Z", "1999-12-31T23:59:59+00:00")
BODY = {"outcomes": [{"cell": f"A{cell}", "depth_m": cell * 1e-6} for cell in range(30)]}


ARCHIVES = "archives"


@dataclass(frozen=True, slots=True)
class Acknowledged:
    """Name what a writer was told is kept: a record, a file or an export, with its hash."""

    what: str
    name: str
    sha256: str


Acknowledge = Callable[[Acknowledged], None]


def make_archives(beside: Path, count: int) -> None:
    """Export small benches, each with records and a film, for writers on benches in this folder to import."""
    folder = beside / ARCHIVES
    folder.mkdir()
    for number in range(count):
        places = demo_bench(folder / f"bench-{number}")
        with open_journal(places.folder) as opened:
            film = opened.journal.add_file(
                f"film {number}".encode(), name="one.mp4", kind="film", at_utc=TIMES[0]
            )
            for kind in ("outcomes", "footage", "fit"):
                inputs = [Input(role="film", file=film.sha256)]
                opened.journal.add(kind=kind, title=f"{number}", body=BODY, at_utc=TIMES[0], inputs=inputs)
            export_bench(opened, folder / f"{number}.zip")


def write_on(
    opened: OpenJournal, draw: random.Random, acknowledge: Acknowledge, *, kind: str = "outcomes"
) -> None:
    """Do one thing at random: type, correct or undo outcomes, keep a film, store a fit, export, import."""
    journal = opened.journal
    match draw.choice(("type", "type", "type", "correct", "undo", "film", "fit", "export", "import")):
        case "correct" | "undo" as what if (last := journal.latest(kind)) is not None:
            if what == "undo":
                number = undo(opened, last.id, why="no").data["written"]
                _acknowledge_record(journal.meant(str(number)), acknowledge)
            else:
                _acknowledge_record(
                    _add(journal, draw, kind, supersedes=last.id, reason="misread"), acknowledge
                )
        case "film":
            content = draw.randbytes(draw.choice((100, 300_000)))
            kept = journal.add_file(content, name="one.mp4", kind="film", at_utc=draw.choice(TIMES))
            acknowledge(Acknowledged("file", kept.name, kept.sha256))
            _acknowledge_record(
                _add(journal, draw, "footage", inputs=[Input(role="film", file=kept.sha256)]), acknowledge
            )
        case "fit":
            npz = as_npz(np.frombuffer(draw.randbytes(8000), np.uint8).reshape(100, 80).astype(float))
            posterior = journal.add_file(
                npz, name="posterior.npz", kind="posterior", at_utc=draw.choice(TIMES)
            )
            grounds = [Input(role=kind, record=one.id) for one in journal.standing(kind)[-3:]]
            inputs = [Input(role="posterior", file=posterior.sha256), *grounds]
            _acknowledge_record(_add(journal, draw, "fit", inputs=inputs), acknowledge)
        case "export":
            archive = opened.places.reports / f"{kind}.zip"
            answer = export_bench(opened, archive)
            acknowledge(Acknowledged("export", archive.name, answer.data["sha256"]))
        case "import" if archives := sorted((opened.places.folder.parent / ARCHIVES).glob("*.zip")):
            archive = draw.choice(archives)
            import_bench(archive, opened.places.folder)
            acknowledge(Acknowledged("import", archive.name, ""))
        case _:
            _acknowledge_record(_add(journal, draw, kind), acknowledge)


def _add(journal: Journal, draw: random.Random, kind: str, **more: object) -> Record:
    title = f"{draw.random():.6f}"
    return journal.add(kind=kind, title=title, body=BODY, at_utc=draw.choice(TIMES), **more)  # type: ignore[arg-type]


def _acknowledge_record(record: Record, acknowledge: Acknowledge) -> None:
    acknowledge(Acknowledged("record", record.id, record.sha256))


@dataclass(slots=True)
class Writer:
    """Hold a forked process that writes until it is killed or told to stop after some seconds."""

    pid: int
    pipe: int

    def kill(self) -> list[Acknowledged]:
        """Kill it at once, as kill -9 does, and give all that it was told is kept."""
        os.kill(self.pid, signal.SIGKILL)
        return self.finish()

    def finish(self, *, status: int | None = None) -> list[Acknowledged]:
        """Wait for it, and give all that it was told is kept; ``status`` is what it must end with."""
        with os.fdopen(self.pipe, "rb") as pipe:
            *lines, _ = pipe.read().decode().split("\n")
        ended = os.waitpid(self.pid, 0)[1]
        assert status is None or os.waitstatus_to_exitcode(ended) == status
        return [Acknowledged(*line.split("\t")) for line in lines]


def start_writer(
    folder: Path, seed: int, *, kind: str = "outcomes", most_s: float = 60.0, only: str | None = None
) -> Writer:
    """Fork a writer that says each thing once the journal has said so; ``only`` "type" just types."""
    reading, pipe = os.pipe()
    pid = os.fork()
    if pid:
        os.close(pipe)
        return Writer(pid, reading)
    status = 1
    try:
        os.close(reading)
        _write(folder, random.Random(seed), pipe, kind, most_s, only)
        status = 0
    except BaseException:
        traceback.print_exc()
    finally:
        os._exit(status)


def _write(folder: Path, draw: random.Random, pipe: int, kind: str, most_s: float, only: str | None) -> None:
    def acknowledge(one: Acknowledged) -> None:
        os.write(pipe, f"{one.what}\t{one.name}\t{one.sha256}\n".encode())

    until_s = time.monotonic() + most_s
    with open_journal(folder) as opened:
        while time.monotonic() < until_s:
            if only == "type":
                _acknowledge_record(_add(opened.journal, draw, kind), acknowledge)
            else:
                write_on(opened, draw, acknowledge, kind=kind)


def missing(opened: OpenJournal, acknowledged: list[Acknowledged]) -> Iterator[str]:
    """Name what was acknowledged and is not there, and every fault of the journal."""
    records = {record.id: record.sha256 for record in opened.journal.all()}
    files = {file.sha256 for file in opened.journal.files()}
    archives: dict[str, set[str]] = {}
    for one in acknowledged:
        if one.what == "record" and records.get(one.name) != one.sha256:
            yield f"record {one.name}"
        if one.what == "file" and one.sha256 not in files:
            yield f"file {one.sha256}"
        if one.what == "export":
            archives.setdefault(one.name, set()).add(one.sha256)
    for name in archives:
        content = (opened.places.reports / name).read_bytes()
        # A later export may stand there already, whole, though the writer died before it could say so.
        if hashlib.sha256(content).hexdigest() not in archives[name]:
            assert zipfile.ZipFile(io.BytesIO(content)).testzip() is None
    told = {one.name for one in acknowledged if one.what == "import"}
    for archive in (opened.places.folder.parent / ARCHIVES).glob("*.zip"):
        with zipfile.ZipFile(archive) as one:
            ids = [json.loads(line)["id"] for line in one.read("records.jsonl").splitlines()]
        here = sum(record in records for record in ids)
        if here not in (0, len(ids)) or (here == 0 and archive.name in told):
            yield f"{here} of the {len(ids)} records of {archive.name}"
    yield from (finding.sentence for finding in audit(opened.journal) if finding.weight == "fault")
