"""Run benchmarks and print what was measured: ``python -m benchmarks [NAME ...] [--json]``.

Nothing is stored. Wall times swing on a shared machine, so each row sets its value against a peer that
was measured in the same run, and its goal is on that ratio.
"""

import argparse
import json
import sys
from collections.abc import Callable, Sequence
from dataclasses import asdict
from pathlib import Path

from benchmarks import (
    closed_loop,
    cold,
    explain,
    film,
    footage,
    hatch,
    learn,
    masks,
    next_loop,
    pages,
    part,
    part_demo,
    part_numpy,
    posterior,
    slider,
    trains,
    trains_elements,
    trains_volumes,
    window,
)
from benchmarks.machine import machine_words
from benchmarks.row import Row

# One name, one module, one row.
BENCHMARKS: dict[str, Callable[[], Row]] = {
    "trains": trains.measure,
    "trains_elements": trains_elements.measure,
    "trains_volumes": trains_volumes.measure,
    "window": window.measure,
    "explain": explain.measure,
    "footage": footage.measure,
    "masks": masks.measure,
    "film": film.measure_h264,
    "film_mjpeg": film.measure_mjpeg,
    "part": part.measure,
    "part_numpy": part_numpy.measure,
    "part_demo": part_demo.measure,
    "hatch": hatch.measure,
    "closed_loop": closed_loop.measure,
    "learn": learn.measure,
    "next": next_loop.measure,
    "posterior": posterior.measure,
    "pages": pages.measure,
    "slider": slider.measure,
    "cold": cold.measure,
}

PAGE = Path(__file__).resolve().parent.parent / "docs" / "benchmarks.md"
PAGE_HEAD = """\
# Benchmarks

`python -m benchmarks --page` measured this table and wrote this page; nothing on it is typed by hand. Wall
times swing on a shared machine, so each row sets its value against a peer, or a limit, that was measured in
the same run, and its goal is on that ratio.
"""
HEADINGS = ("name", "value", "unit", "peer", "ratio", "goal", "met")


def table(rows: Sequence[Row]) -> str:
    """Write rows as a table with a line of headings, columns as wide as their widest cell."""
    cells = [HEADINGS, *(_cells(row) for row in rows)]
    widths = [max(map(len, column)) for column in zip(*cells, strict=True)]
    lines = ("  ".join(cell.ljust(width) for cell, width in zip(line, widths, strict=True)) for line in cells)
    return "\n".join(line.rstrip() for line in lines)


def _cells(row: Row) -> tuple[str, ...]:
    met = "yes" if row.met else "no"
    return (row.name, f"{row.value:.3g}", row.unit, row.peer or "-", f"{row.ratio:.3g}", row.goal, met)


def page_text(rows: Sequence[Row], machine: str) -> str:
    """Write the page of the manual that shows what one run measured."""
    head = f"{PAGE_HEAD}\nMeasured on: {machine}\n\n"
    lines = [
        "| " + " | ".join(cells) + " |" for cells in (HEADINGS, ["---"] * len(HEADINGS), *map(_cells, rows))
    ]
    missing = [name for name in BENCHMARKS if name not in {row.name for row in rows}]
    left_out = f"\nNot in this run: {', '.join(missing)}.\n" if missing else ""
    return head + "\n".join(lines) + "\n" + left_out


def main(arguments: Sequence[str] | None = None) -> int:
    """Measure the benchmarks named, or all of them, and give 1 when a goal was missed."""
    reader = argparse.ArgumentParser(prog="python -m benchmarks", description="Measure speed, in this run.")
    reader.add_argument("names", nargs="*", metavar="NAME", help=f"any of: {', '.join(BENCHMARKS)}")
    reader.add_argument("--json", action="store_true", help="print the rows as JSON")
    reader.add_argument("--page", action="store_true", help="write docs/benchmarks.md as well")
    given = reader.parse_args(arguments)
    unknown = [name for name in given.names if name not in BENCHMARKS]
    if unknown:
        reader.error(f"{', '.join(unknown)}: no such benchmark. Choose from {', '.join(BENCHMARKS)}.")
    machine = machine_words() if given.page else ""
    rows = [BENCHMARKS[name]() for name in given.names or BENCHMARKS]
    if given.page:
        PAGE.write_text(page_text(rows, machine), "utf-8")
    print(json.dumps([asdict(row) for row in rows], indent=2) if given.json else table(rows))
    return 0 if all(row.met for row in rows) else 1


if __name__ == "__main__":
    sys.exit(main())
