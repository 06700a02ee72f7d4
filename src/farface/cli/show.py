"""Lay an answer out for a terminal, or as JSON; say how far long work has come."""

import json
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager

from rich.console import Console
from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn
from rich.table import Table as RichTable
from rich.text import Text

from farface.app.answer import Answer, plain
from farface.app.progress import Progress as Tell
from farface.app.progress import quiet
from farface.report.content import Table

INTERRUPTED = 130
PIPED_COLUMNS = 10_000


def show(answer: Answer, *, as_json: bool) -> None:
    """Print an answer; JSON goes out alone and whole, words are wrapped to a terminal."""
    if as_json:
        told = {
            "title": answer.title,
            "sentences": plain(answer.sentences),
            "data": plain(answer.data),
            "files": plain(answer.files),
        }
        sys.stdout.write(json.dumps(told, indent=2, allow_nan=False) + "\n")
        return
    # Into a file or a pipe each sentence and each row goes on one line, for other programs to read.
    wide = None if sys.stdout.isatty() or "COLUMNS" in os.environ else PIPED_COLUMNS
    console = Console(highlight=False, width=wide)
    console.print(Text(answer.title, style="bold"))
    for sentence in answer.sentences:
        console.print(Text(sentence))
    for table in answer.tables:
        console.print(_laid_out(table))
    for path in answer.files:
        console.print(Text(f"wrote {path}", style="dim"), soft_wrap=True)


def _laid_out(table: Table) -> RichTable:
    laid = RichTable(
        title=table.caption, title_justify="left", title_style="italic", box=None, pad_edge=False
    )
    for name in table.header:
        laid.add_column(name, overflow="fold")
    for row in table.rows:
        laid.add_row(*(Text(cell) for cell in row))
    return laid


@contextmanager
def progress() -> Iterator[Tell]:
    """Show a bar for each piece of long work on standard error, and nothing where that is no terminal.

    Ctrl-C ends the work with a sentence: the journal only ever holds finished steps.
    """
    with _interruptible(), _bars() as tell:
        yield tell


@contextmanager
def _interruptible() -> Iterator[None]:
    try:
        yield
    except KeyboardInterrupt:
        sys.stderr.write("farface: stopped; the journal holds everything up to the last finished step.\n")
        sys.exit(INTERRUPTED)


@contextmanager
def _bars() -> Iterator[Tell]:
    if not sys.stderr.isatty():
        yield quiet
        return
    bars = Progress(
        TextColumn("{task.description}"), BarColumn(), TimeElapsedColumn(),
        console=Console(stderr=True), transient=True,
    )  # fmt: skip
    tasks: dict[str, int] = {}

    def tell(what: str, share: float) -> None:
        if what not in tasks:
            tasks[what] = bars.add_task(what, total=1.0)
        bars.update(tasks[what], completed=share)  # type: ignore[arg-type]

    with bars:
        yield tell
