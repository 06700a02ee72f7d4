"""Open a bench, run a use case on it, show its answer; remember where its journal is kept."""

from collections.abc import Callable
from contextvars import ContextVar
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Final

import typer

if TYPE_CHECKING:
    from farface.app.answer import Answer
    from farface.app.progress import Progress
    from farface.app.workbench import Workbench

# The address that stands before the command's name, for all commands alike.
JOURNAL: Final[ContextVar[str | None]] = ContextVar("journal", default=None)


def remember_journal(
    journal: Annotated[
        str | None,
        typer.Option(
            envvar="FARFACE_JOURNAL",
            help="a journal that benches share: postgresql+psycopg://user@host/database",
        ),
    ] = None,
) -> None:
    """Keep the address for the command that follows."""
    JOURNAL.set(journal)


def run_on_bench(
    folder: Path, seed: int, as_json: bool, use_case: "Callable[[Workbench, Progress], Answer]"
) -> None:
    """Open the bench, run a use case on it, show its answer."""
    from farface.app.workbench import open_workbench
    from farface.cli.show import progress, show

    with open_workbench(folder, seed=seed, journal=JOURNAL.get()) as work, progress() as tell:
        answer = use_case(work, tell)
    show(answer, as_json=as_json)
