"""The commands of the journal: list it, show, compare and undo records, check, export and import it."""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from farface.cli.options import Folder, Json
from farface.cli.use_case import JOURNAL

if TYPE_CHECKING:
    from farface.app.answer import Answer
    from farface.app.journal_open import OpenJournal

app = typer.Typer(
    help="Read the permanent record, undo and check it, take it out and in.",
    no_args_is_help=True,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)
FAULTY = 1

Which = Annotated[str, typer.Argument(help="a record: its number, or the start of its id")]
Kinds = Annotated[list[str] | None, typer.Option("--kind", help="only this kind; may be given again")]
Why = Annotated[str, typer.Option("--why", help="the reason, which stays in the journal")]


@app.command()
def log(
    bench: Folder = Path(),
    last: Annotated[int, typer.Option(min=1, help="how many of the last records")] = 30,
    every: Annotated[bool, typer.Option("--all", help="all of them")] = False,
    before: Annotated[int | None, typer.Option(min=1, help="only records before this number")] = None,
    kind: Kinds = None,
    files: Annotated[bool, typer.Option("--files", help="list the files it keeps instead")] = False,
    as_json: Json = False,
) -> None:
    """List the last records, superseded and withdrawn ones included.

    Example: farface journal log --kind outcomes --all
    """
    from farface.app.journal_log import list_files, list_records

    if files:
        _run(bench, as_json, list_files)
        return
    count = None if every else last
    _run(bench, as_json, lambda o: list_records(o, count=count, before=before, kinds=tuple(kind or ())))


@app.command()
def show(which: Which, bench: Folder = Path(), as_json: Json = False) -> None:
    """Show one record: what it says, what it rests on, what rests on it, what became of it.

    Example: farface journal show 12
    """
    from farface.app.journal_log import show_record

    _run(bench, as_json, lambda opened: show_record(opened, which))


@app.command()
def diff(
    first: Which,
    second: Annotated[str | None, typer.Argument(help="the record to compare it with")] = None,
    bench: Folder = Path(),
    as_json: Json = False,
) -> None:
    """Tell two records apart; one alone is compared with the one it supersedes, or the one before it.

    Example: farface journal diff 12 15
    """
    from farface.app.journal_diff import compare

    _run(bench, as_json, lambda opened: compare(opened, first, second))


@app.command()
def undo(which: Which, why: Why, bench: Folder = Path(), as_json: Json = False) -> None:
    """Put back what stood before a record, by a new record; undo that one to bring it back.

    Example: farface journal undo 12 --why "read the wrong plate"
    """
    from farface.app.journal_undo import undo

    _run(bench, as_json, lambda opened: undo(opened, which, why=why))


@app.command()
def check(
    bench: Folder = Path(),
    mend: Annotated[
        bool, typer.Option("--mend", help="put lost files back from identical ones in the bench")
    ] = False,
    as_json: Json = False,
) -> None:
    """Read every record and file through; name each fault and the way out. Faults end with code 1.

    Example: farface journal check --mend
    """
    from farface.app.journal_check import check_journal

    answer = _run(bench, as_json, lambda opened: check_journal(opened, mend=mend))
    if answer.data["faults"]:
        raise typer.Exit(FAULTY)


@app.command()
def rerun(which: Which, bench: Folder = Path(), as_json: Json = False) -> None:
    """Compute a record again from its own inputs and seed, and compare; other numbers end with code 1.

    Example: farface journal rerun 12
    """
    from farface.app.journal_rerun import rerun

    answer = _run(bench, as_json, lambda opened: rerun(opened, which))
    if not answer.data["same"]:
        raise typer.Exit(FAULTY)


@app.command()
def rescue(bench: Folder = Path(), as_json: Json = False) -> None:
    """Put all that can be read of a damaged journal into a new one; the damaged file is kept.

    Example: farface journal rescue
    """
    from farface.app.journal_check import rescue_journal
    from farface.cli.show import show

    show(rescue_journal(bench), as_json=as_json)


@app.command("export")
def export_(
    archive: Annotated[Path, typer.Argument(help="the ZIP to write")],
    bench: Folder = Path(),
    record: Annotated[
        list[str] | None,
        typer.Option("--record", help="only this record and all it rests on; may be given again"),
    ] = None,
    kind: Kinds = None,
    since: Annotated[
        str | None, typer.Option(help='only from this day on (UTC), such as "2025-03-01"')
    ] = None,
    as_json: Json = False,
) -> None:
    """Write the bench, or a selection of its journal, as one ZIP of CSV, JSON, Parquet, SVG and originals.

    Example: farface journal export counting-chamber.zip --kind outcomes
    """
    from farface.app.journal_export import Selection, export_bench

    selection = Selection(records=tuple(record or ()), kinds=tuple(kind or ()), since=since)
    _run(bench, as_json, lambda opened: export_bench(opened, archive, selection))


@app.command("import")
def import_(
    archive: Annotated[Path, typer.Argument(help="a ZIP that `farface journal export` wrote")],
    bench: Annotated[Path, typer.Option("--bench", help="a bench, or a new folder for one")],
    keep_mine: Annotated[
        bool, typer.Option("--keep-mine", help="leave out records that contradict the bench's own")
    ] = False,
    as_json: Json = False,
) -> None:
    """Take an export into a new folder or into a bench; nothing there is overwritten, conflicts are named.

    Example: farface journal import counting-chamber.zip --bench FOLDER
    """
    from farface.app.journal_import import import_bench
    from farface.cli.show import show

    show(import_bench(archive, bench, keep_mine=keep_mine, address=JOURNAL.get()), as_json=as_json)


def _run(folder: Path, as_json: bool, use_case: "Callable[[OpenJournal], Answer]") -> "Answer":
    """Open the journal of a bench, run a use case on it, show its answer."""
    from farface.app.journal_open import open_journal
    from farface.cli.show import show

    with open_journal(folder, JOURNAL.get()) as opened:
        answer = use_case(opened)
    show(answer, as_json=as_json)
    return answer
