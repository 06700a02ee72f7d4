"""Measure a page of the browser against the command's use case: routing, guard, template, pictures."""

import statistics
import tempfile
import time
from collections.abc import Callable
from importlib.resources import files
from pathlib import Path

from benchmarks.row import Row, row
from farface.app.rig import explain_rig
from farface.app.settings import Typed
from farface.app.workbench import open_workbench
from farface.files.bench_folder import make_bench

ROUNDS = 5
PORT = 8123


def measure() -> Row:
    """Ask for the page of the rig and, in turn, for its explanation as the command gives it."""
    from starlette.testclient import TestClient

    from farface.web.guard import Lock
    from farface.web.serve import create_app

    with tempfile.TemporaryDirectory() as name:
        folder = Path(name) / "bench"
        make_bench(folder)
        for one in ("rig.toml", "bath.toml"):
            (folder / one).write_bytes(files("farface.app").joinpath("demo_files", one).read_bytes())
        client = TestClient(create_app(folder, lock=Lock.at(PORT)), base_url=f"http://127.0.0.1:{PORT}")

        def page() -> None:
            client.get("/rig").raise_for_status()

        def alone() -> None:
            with open_workbench(folder) as work:
                explain_rig(work, Typed())

        page_s, alone_s = _in_turn(page, alone)
    return row(
        name="pages",
        value=1e3 * page_s,
        unit="ms",
        peer="the use case as the command runs it",
        ratio=page_s / alone_s,
        goal=("at most", 1.5),
    )


def _in_turn(*jobs: Callable[[], None]) -> tuple[float, ...]:
    """Run jobs in turn, once unmeasured, and give the median processor time of each."""
    times_s: list[list[float]] = [[] for _ in jobs]
    for round_number in range(ROUNDS + 1):
        for job, taken_s in zip(jobs, times_s, strict=True):
            started_s = time.process_time()
            job()
            if round_number:
                taken_s.append(time.process_time() - started_s)
    return tuple(map(statistics.median, times_s))
