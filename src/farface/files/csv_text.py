"""Read a CSV file as spreadsheets write it: its encoding, delimiter and decimal mark."""

import csv
import difflib
import io
from collections.abc import Collection, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from farface.kernel import Malformed, Missing

_DELIMITERS: Final = (",", ";", "\t")


@dataclass(frozen=True, slots=True, kw_only=True)
class CsvRow:
    """Hold one row; ``number`` is the one a spreadsheet shows, where the header is row 1."""

    number: int
    cells: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class CsvText:
    """Hold a file's header and its rows that are not empty, each cell stripped of blanks around it.

    A row should have ``width`` cells; those past the ``columns`` have no name and should be empty.
    """

    columns: tuple[str, ...]
    width: int
    rows: tuple[CsvRow, ...]
    decimal_comma: bool


def read_csv(path: Path, *, columns: Collection[str], optional: Collection[str] = ()) -> CsvText:
    """Read a file in UTF-8 or Windows-1252, parted by ``,``, ``;`` or tabs, with exactly those columns.

    Their order is free. Raises `Missing` when there is no such file, `Malformed` when it is no CSV or a
    column is absent, unknown or there twice. Where ``;`` or tabs part the cells, a decimal comma is read.
    """
    text = _decode(path)
    delimiter = _delimiter(text, columns)
    lines = _split(text, delimiter, path)
    first = lines[0].cells if lines and lines[0].number == 1 else ()
    header = _without_empty_end(first)
    _check_header(header, columns, optional, path)
    return CsvText(columns=header, width=len(first), rows=tuple(lines[1:]), decimal_comma=delimiter != ",")


def _decode(path: Path) -> str:
    try:
        content = path.read_bytes()
    except FileNotFoundError as error:
        raise Missing(f"There is no file {path}. Name the right one.") from error
    except OSError as error:
        raise Missing(f"{path} cannot be read: {error.strerror}. Name a file that you may read.") from error
    for encoding in ("utf-8-sig", "cp1252"):
        try:
            text = content.decode(encoding)
        except UnicodeDecodeError:
            continue
        if "\0" not in text:
            return text
    raise Malformed(f"{path.name} is no text in UTF-8 or Windows-1252. Save it as CSV in UTF-8.")


def _delimiter(text: str, columns: Collection[str]) -> str:
    """Choose the delimiter that parts the first line into the most known columns."""
    first = next(_lines(text), "")

    def known(delimiter: str) -> int:
        return sum(name.strip(' "\r\n') in columns for name in first.split(delimiter))

    return max(_DELIMITERS, key=known)


def _lines(text: str) -> Iterator[str]:
    """Part at line ends only: a text may hold other characters that count as line ends elsewhere."""
    return iter(io.StringIO(text, newline=""))


def _split(text: str, delimiter: str, path: Path) -> list[CsvRow]:
    """Part the text into rows, leaving out those without content."""
    reader = csv.reader(_lines(text), delimiter=delimiter, strict=True)
    rows = []
    try:
        for number, cells in enumerate(reader, start=1):
            if any(cell.strip() for cell in cells):
                rows.append(CsvRow(number=number, cells=tuple(cell.strip() for cell in cells)))
    except csv.Error as error:
        raise Malformed(
            f"{path.name} is no CSV near line {reader.line_num}: {error}. Correct that line, or save it anew."
        ) from error
    return rows


def _without_empty_end(cells: tuple[str, ...]) -> tuple[str, ...]:
    """Drop the nameless columns that a spreadsheet may add at the right."""
    end = len(cells)
    while end and not cells[end - 1]:
        end -= 1
    return cells[:end]


def _check_header(
    header: tuple[str, ...], columns: Collection[str], optional: Collection[str], path: Path
) -> None:
    missing = [name for name in columns if name not in header]
    unknown = [name for name in header if name not in columns and name not in optional]
    twice = sorted({name for name in header if header.count(name) > 1})
    faults = [
        *(f"lacks the column {name}" for name in missing),
        *(f"has the unknown column {_named(name, missing)}" for name in unknown),
        *(f"has the column {name} more than once" for name in twice),
    ]
    if faults:
        raise Malformed(f"{path.name} {', '.join(faults)}. Its first row must hold {', '.join(columns)}.")


def _named(name: str, missing: list[str]) -> str:
    """Name an unknown column, with the missing one that was probably meant."""
    close = difflib.get_close_matches(name, missing, n=1)
    shown = name or "without a name"
    return f"{shown} (did you mean {close[0]}?)" if close else shown
