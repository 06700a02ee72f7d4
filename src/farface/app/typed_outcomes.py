"""Type what was seen into a coupon's table, one finding at a time, and record it when it is whole."""

import re
from dataclasses import dataclass
from pathlib import Path
from typing import Final, Literal

from farface.app.coupon_order import check_name
from farface.app.outcomes import known_outcomes
from farface.app.typed_book import TypedBook, is_known, note
from farface.files.bench_folder import Bench
from farface.files.outcomes_file import findings_of
from farface.files.outcomes_sheet import read_finding, read_sheet, write_finding
from farface.journal import Journal
from farface.kernel import Malformed
from farface.records import Outcome

_DIGITS: Final = 6  # of a finding that is brought back from the journal
_KEY: Final = re.compile(r"[A-Za-z0-9-]{8,64}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """Hold one change: what the person saw in the field before, what it is now, and a key of its own.

    The same ``key`` sent again changes nothing; ``place`` says where it was typed.
    """

    plate: str
    cell: str
    column: str
    was: str
    now: str
    key: str
    place: str = "bench"


@dataclass(frozen=True, slots=True, kw_only=True)
class Typing:
    """Hold how a change went: the row as it stands, what it lacks, and both values of a clash."""

    state: Literal["saved", "clash"]
    found: dict[str, str]
    lacks: list[str]
    theirs: str = ""
    yours: str = ""


def type_finding(folder: Path, finding: Finding) -> Typing:
    """Write one finding, unless it stands otherwise than the person saw; a clash writes nothing.

    Raises `Malformed` for what the column cannot hold and `Missing` for a plate or cell that is not there.
    """
    now = read_finding(finding.column, finding.now)
    if not _KEY.fullmatch(finding.key):
        raise Malformed("the change carries no key of its own. Reload the page and type it again.")
    path = table_path(folder, finding.plate)
    with TypedBook(folder).writing() as book:
        sheet = read_sheet(path)
        stands = sheet.found(finding.cell)[finding.column]
        known = is_known(book, finding.key)
        clash = not known and stands not in (_as_shown(finding.column, finding.was), finding.was, now)
        if not known and not clash:
            if stands != now:
                write_finding(path, sheet, finding.cell, {finding.column: now})
                sheet = read_sheet(path)
            note(
                book, finding.key, plate=finding.plate, cell=finding.cell, finding=finding.column,
                was=stands, now=now, place=finding.place,
            )  # fmt: skip
    return Typing(
        state="clash" if clash else "saved",
        found=sheet.found(finding.cell),
        lacks=sheet.lacks(finding.cell),
        theirs=stands if clash else "",
        yours=now if clash else "",
    )


def fill_from_journal(folder: Path, journal: Journal, plate: str) -> int:
    """Bring the recorded outcomes of a plate into the rows of its table that are empty; count them."""
    path = table_path(folder, plate)
    count = 0
    for outcome in recorded_outcomes(journal, plate):
        with TypedBook(folder).writing():
            sheet = read_sheet(path)
            if outcome.cell in sheet.rows and not any(sheet.found(outcome.cell).values()):
                write_finding(path, sheet, outcome.cell, shown_findings(outcome))
                count += 1
    return count


def recorded_outcomes(journal: Journal, plate: str) -> tuple[Outcome, ...]:
    """Give the outcomes of a plate that the journal holds, the last reading of each cell."""
    every = known_outcomes(journal.standing("outcomes"))
    return tuple(outcome for outcome in every if outcome.plate == plate)


def shown_findings(outcome: Outcome) -> dict[str, str]:
    """Write what was found as a person would, with no digits that only a binary number has."""
    return {name: _short(text) for name, text in findings_of(outcome).items()}


def _short(text: str) -> str:
    try:
        return f"{float(text):.{_DIGITS}g}"
    except ValueError:
        return text


def table_path(folder: Path, plate: str) -> Path:
    """Find the table of a plate; `Malformed` for a name that names none."""
    check_name(plate)
    return Bench(folder=folder).coupons / f"{plate}.csv"


def _as_shown(column: str, text: str) -> str:
    """Write what a page showed as the table would; what it cannot hold stays as it is."""
    try:
        return read_finding(column, text)
    except Malformed:
        return text
