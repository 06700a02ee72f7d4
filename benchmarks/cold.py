"""Measure how long a person waits for ``farface --help`` in a fresh process."""

import statistics
import subprocess
import sys
import time

from benchmarks.row import Row, row

ROUNDS = 7
# The same engine with nothing to say: what is left above it is ours.
BARE = ("-c", "import typer; app = typer.Typer(); app.command()(lambda: None); app()", "--help")
HELP = ("-c", "from farface.cli.main import run; run()", "--help")


def measure() -> Row:
    """Start the command line and, in turn, one that has a single empty command."""
    times_s: dict[tuple[str, ...], list[float]] = {HELP: [], BARE: []}
    for _ in range(ROUNDS):
        for arguments, taken_s in times_s.items():
            started_s = time.perf_counter()
            subprocess.run([sys.executable, *arguments], check=True, capture_output=True)
            taken_s.append(time.perf_counter() - started_s)
    ours_s, bare_s = (statistics.median(taken_s) for taken_s in times_s.values())
    return row(
        name="cold",
        value=1e3 * ours_s,
        unit="ms",
        peer="an empty typer command",
        ratio=ours_s / bare_s,
        goal=("at most", 1.5),
    )
