"""Open a bench, run a use case on it, show its answer; remember where its journal is kept."""

import logging
import time
from collections.abc import Callable
from contextvars import ContextVar
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Final

import typer

from farface import __version__
from farface.cli.settings import read_settings, settings_path

if TYPE_CHECKING:
    from farface.app.answer import Answer
    from farface.app.progress import Progress
    from farface.app.workbench import Workbench

_log = logging.getLogger(__name__)
_LEVELS: Final = {1: logging.INFO, 2: logging.DEBUG}
# The address that stands before the command's name, for all commands alike.
JOURNAL: Final[ContextVar[str | None]] = ContextVar("journal", default=None)


def remember_options(
    context: typer.Context,
    journal: Annotated[
        str | None,
        typer.Option(
            envvar="FARFACE_JOURNAL",
            help="a journal that benches share: postgresql+psycopg://user@host/database",
        ),
    ] = None,
    settings: Annotated[
        Path | None,
        typer.Option(envvar="FARFACE_SETTINGS", help="a TOML file with defaults for the options"),
    ] = None,
    verbose: Annotated[
        int, typer.Option("-v", "--verbose", count=True, help="tell on standard error what is done; -vv: all")
    ] = 0,
    version: Annotated[bool, typer.Option("--version", help="show the version and end")] = False,
) -> None:
    """Keep what stands before the command's name for the command that follows."""
    if version:
        typer.echo(f"farface {__version__}")
        raise typer.Exit
    if context.invoked_subcommand is None:
        typer.echo(context.get_help())
        raise typer.Exit
    if verbose:
        logging.basicConfig(format="%(asctime)s %(name)s: %(message)s", level=_LEVELS[min(verbose, 2)])
    JOURNAL.set(journal)
    path = settings_path(settings)
    if path is not None:
        context.default_map = read_settings(path, context.command.commands)  # type: ignore[attr-defined]
        _log.info("defaults from %s", path)


def run_on_bench(
    folder: Path, seed: int, as_json: bool, use_case: "Callable[[Workbench, Progress], Answer]"
) -> None:
    """Open the bench, run a use case on it, show its answer."""
    from farface.app.workbench import open_workbench
    from farface.cli.show import progress, show

    start_s = time.perf_counter()
    with open_workbench(folder, seed=seed, journal=JOURNAL.get()) as work, progress() as tell:
        answer = use_case(work, tell)
    _log.info("done in %.2f s", time.perf_counter() - start_s)
    show(answer, as_json=as_json)
