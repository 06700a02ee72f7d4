"""Run every check in turn: ``python -m checks [--quick]``.

Every step runs even when an earlier one failed, so that one run shows all there is to mend. The tests
come last: the closing line of pytest is the last line of the output.
"""

import argparse
import subprocess
import sys
import time
from collections.abc import Sequence
from dataclasses import dataclass

from checks.tree import ROOT

CODE = ("src", "tests", "checks", "benchmarks", "manual")
LAYERS = "from importlinter.cli import lint_imports_command; lint_imports_command()"
QUICK = ("-m", "not slow and not browser")


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """Name a check and the arguments that make Python run it."""

    name: str
    arguments: tuple[str, ...]


def steps(*, quick: bool) -> tuple[Step, ...]:
    """List the checks in their order, the tests last; ``quick`` leaves out slow and browser tests."""
    return (
        Step(name="format", arguments=("-m", "ruff", "format", "--check", *CODE)),
        Step(name="lint", arguments=("-m", "ruff", "check", *CODE)),
        Step(name="types", arguments=("-m", "mypy")),
        Step(name="layers", arguments=("-c", LAYERS)),
        Step(name="tests", arguments=("-m", "pytest", *(QUICK if quick else ()))),
    )


def run(step: Step) -> int:
    """Run one check in the project's root and give its exit status."""
    return subprocess.run([sys.executable, *step.arguments], cwd=ROOT, check=False).returncode


def run_all(todo: Sequence[Step]) -> int:
    """Run every check, say how each of them went, and give 0 only when all went well.

    The last one has the last word: what came before it is told before it starts. pytest gives a
    status of its own when it ran no test, so an empty suite fails too.
    """
    *early, last = todo
    failed = [step.name for step in early if not _passes(step)]
    if failed:
        print(f"\nFailed so far: {', '.join(failed)}.", flush=True)
    print(f"\n== {last.name} ==", flush=True)
    status = run(last)
    return 1 if failed or status else 0


def _passes(step: Step) -> bool:
    """Run one check between a heading and a line with its time."""
    print(f"\n== {step.name} ==", flush=True)
    started_s = time.perf_counter()
    status = run(step)
    took_s = time.perf_counter() - started_s
    print(f"-- {step.name}: {'failed' if status else 'passed'} in {took_s:.1f} s", flush=True)
    return status == 0


def main() -> int:
    """Read the command line and run the checks."""
    reader = argparse.ArgumentParser(prog="python -m checks", description="Check the whole project.")
    reader.add_argument("--quick", action="store_true", help="leave out the slow and the browser tests")
    return run_all(steps(quick=reader.parse_args().quick))


if __name__ == "__main__":
    sys.exit(main())
