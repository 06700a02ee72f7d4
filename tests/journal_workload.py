"""Write to a bench as people and programs do, in a process that may be killed; say what was acknowledged."""

import hashlib
import io
import json
import os
import random
import signal
import subprocess
import sys
import time
import traceback
import zipfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

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
# The last word of a writer whose time is over.
DONE = "done"


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


@dataclass(frozen=True, slots=True)
class Writer:
    """Hold a process that writes until it is killed or its time is over, and the file where it says so."""

    pid: int
    said: Path

    def told(self) -> list[Acknowledged]:
        """Give all that it was told is kept; a last line that is cut was not said."""
        lines = self.said.read_text("utf-8").split("\n")[:-1]
        return [Acknowledged(*line.split("\t")) for line in lines if line != DONE]

    def wait(self, count: int) -> None:
        """Wait until it was told of so many things."""
        while self._runs() and len(self.told()) < count:
            time.sleep(0.002)

    def kill(self) -> list[Acknowledged]:
        """Kill it at once, as kill -9 does, and give all that it was told is kept."""
        os.kill(self.pid, signal.SIGKILL)
        return self._gone()

    def finish(self) -> list[Acknowledged]:
        """Wait for its end, which must be a good one, and give all that it was told is kept."""
        told = self._gone()
        assert self.said.read_text("utf-8").endswith(f"{DONE}\n"), "a writer ended in the middle"
        return told

    def _gone(self) -> list[Acknowledged]:
        while self._runs():
            time.sleep(0.002)
        return self.told()

    def _runs(self) -> bool:
        try:
            os.kill(self.pid, 0)
        except ProcessLookupError:
            return False
        return True


class Writers:
    """Start writers by forking a process that has imported everything and done nothing yet.

    Forking the tests' own process would hang: libraries that they used keep threads, which a fork lacks.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.count = 0
        here = Path(__file__)
        self.parent = subprocess.Popen(
            [sys.executable, str(here)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            cwd=here.parent,
        )

    def start(
        self, bench: Path, seed: int, *, kind: str = "outcomes", most_s: float = 60.0, only: str = ""
    ) -> Writer:
        """Start one; ``only`` "type" types and does nothing else."""
        self.count += 1
        said = self.folder / f"said-{self.count}"
        said.touch()
        assert self.parent.stdin is not None
        assert self.parent.stdout is not None
        order = {
            "bench": str(bench),
            "seed": seed,
            "kind": kind,
            "most_s": most_s,
            "only": only,
            "said": str(said),
        }
        self.parent.stdin.write(json.dumps(order) + "\n")
        self.parent.stdin.flush()
        return Writer(int(self.parent.stdout.readline()), said)

    def __enter__(self) -> "Writers":
        return self

    def __exit__(self, *_: object) -> None:
        self.parent.communicate(timeout=60)


def _write(order: dict[str, Any]) -> None:
    said = os.open(order["said"], os.O_WRONLY | os.O_APPEND)
    draw, kind = random.Random(order["seed"]), order["kind"]

    def acknowledge(one: Acknowledged) -> None:
        os.write(said, f"{one.what}\t{one.name}\t{one.sha256}\n".encode())

    until_s = time.monotonic() + order["most_s"]
    with open_journal(Path(order["bench"])) as opened:
        while time.monotonic() < until_s:
            if order["only"] == "type":
                _acknowledge_record(_add(opened.journal, draw, kind), acknowledge)
            else:
                write_on(opened, draw, acknowledge, kind=kind)
    os.write(said, f"{DONE}\n".encode())


def _serve() -> None:
    """Fork a writer for each order on standard input, and say its number."""
    signal.signal(signal.SIGCHLD, signal.SIG_IGN)
    for line in sys.stdin:
        pid = os.fork()
        if pid == 0:
            try:
                _write(json.loads(line))
            except BaseException:
                traceback.print_exc()
            finally:
                os._exit(0)
        print(pid, flush=True)


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


if __name__ == "__main__":
    _serve()
