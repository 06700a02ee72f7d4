"""Edit one finding in a coupon's table, and say what a row still lacks; the rest stays as it was written."""

import csv
import io
import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from farface.files.atomic import write_atomically
from farface.files.csv_cells import RowCells
from farface.files.csv_text import read_csv
from farface.files.outcomes_columns import (
    COLUMNS,
    DEPTH,
    DEPTH_SD,
    DEPTH_SD_M,
    FOUND,
    OPTIONAL,
    SHEET,
    THROUGH_BY,
    WHOLE_AFTER,
)
from farface.files.outcomes_file import row_faults
from farface.kernel import Malformed, Missing
from farface.records import SEEN

# What a person fills in; the other columns say what was to be run.
FINDINGS: Final = (*FOUND, SHEET.name, "note")
NOTE_MOST: Final = 500
_WHERE: Final = re.compile(r"^row \d+, ")


@dataclass(frozen=True, slots=True, kw_only=True)
class OutcomesSheet:
    """Hold a coupon's table as texts: the columns as they stand, and each row by its cell's label."""

    columns: tuple[str, ...]
    rows: Mapping[str, Mapping[str, str]]
    decimal_comma: bool

    def found(self, cell: str) -> dict[str, str]:
        """Give a row's findings; `Missing` when the table has no such cell."""
        row = self.rows.get(cell)
        if row is None:
            raise Missing(f'The table has no cell "{cell[:40]}". Choose one that it has.')
        return {name: row.get(name, "") for name in FINDINGS}

    def lacks(self, cell: str) -> list[str]:
        """Say what a row still lacks or contradicts, each as a column and a sentence."""
        row = self.rows[cell]
        return [_WHERE.sub("", fault) for fault in row_faults(row, decimal_comma=self.decimal_comma)]


def read_sheet(path: Path) -> OutcomesSheet:
    """Read a coupon's table, filled or not; `Missing` when it is gone, `Malformed` for a cell there twice."""
    table = read_csv(path, columns=COLUMNS, optional=OPTIONAL)
    rows: dict[str, dict[str, str]] = {}
    for line in table.rows:
        named = dict(zip(table.columns, line.cells, strict=False))
        if named["cell"] in rows:
            raise Malformed(f"{path.name} has the cell {named['cell']} twice. Keep one of the two rows.")
        rows[named["cell"]] = named
    return OutcomesSheet(columns=table.columns, rows=rows, decimal_comma=table.decimal_comma)


def write_finding(path: Path, sheet: OutcomesSheet, cell: str, changes: Mapping[str, str]) -> None:
    """Write a row's changed findings into the table and leave all else as it stands."""
    text = io.StringIO(newline="")
    delimiter = ";" if sheet.decimal_comma else ","
    writer = csv.DictWriter(
        text, fieldnames=list(sheet.columns), restval="", lineterminator="\r\n", delimiter=delimiter
    )
    writer.writeheader()
    for label, row in sheet.rows.items():
        writer.writerow({**row, **changes} if label == cell else row)
    write_atomically(path, text.getvalue().encode())


def read_finding(column: str, text: str) -> str:
    """Check one finding and write it the usual way, with a decimal point; an empty one stays empty.

    Raises `Malformed` for a column that is no finding, and for what the column cannot hold.
    """
    if column not in FINDINGS:
        raise Malformed(f'"{column[:40]}" is no finding. Write one of {", ".join(FINDINGS)}.')
    text = " ".join(text.split())
    if not text:
        return ""
    cells = RowCells({column: text}, row=0, decimal_comma=True)
    written = _written(column, text, cells)
    if cells.faults:
        raise Malformed(_WHERE.sub("", cells.faults[0]).removeprefix(f"{column}: "))
    return written


def _written(column: str, text: str, cells: RowCells) -> str:
    if column == "seen":
        return cells.choice(column, SEEN)
    if column == "depth_method":
        return cells.choice(column, tuple(DEPTH_SD_M))
    for count in (WHOLE_AFTER, THROUGH_BY):
        if column == count.name:
            return str(cells.count(count))
    for measure in (DEPTH, DEPTH_SD, SHEET):
        if column == measure.name:
            cells.measure(measure)
            return text.replace(",", ".")
    if len(text) > NOTE_MOST:
        raise Malformed(f"the note has {len(text)} letters; {NOTE_MOST} are kept. Shorten it.")
    return text
