"""Read the cells of one row of outcomes.csv, and collect every fault instead of stopping at the first."""

import difflib
import re
from collections.abc import Collection, Mapping
from typing import TypeVar

from farface.files.known_text import read_number
from farface.files.outcomes_columns import Count, Measure

WordT = TypeVar("WordT", bound=str)

_NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?")


class RowCells:
    """Read one row; after a fault the reading goes on with a stand-in, and the row must be thrown away."""

    def __init__(self, cells: Mapping[str, str], *, row: int, decimal_comma: bool) -> None:
        self._cells = cells
        self._decimal_comma = decimal_comma
        self.row = row
        self.faults: list[str] = []

    def fault(self, column: str, says: str) -> None:
        """Note what is wrong with a cell and what to do."""
        self.faults.append(f"row {self.row}, {column}: {says}")

    def blank(self, column: str) -> bool:
        """Tell whether a cell, or its whole column, is empty."""
        return not self._cells.get(column)

    def text(self, column: str) -> str:
        """Read a text that must be there."""
        if self.blank(column):
            self.fault(column, "is blank. Fill it in.")
        return self._cells.get(column, "")

    def choice(self, column: str, allowed: Collection[WordT]) -> WordT:
        """Read one of the allowed words, in any case and with blanks for underscores."""
        given = self.text(column)
        word = re.sub(r"[\s_-]+", "_", given.lower())
        for candidate in allowed:
            if candidate == word:
                return candidate
        if given:
            close = difflib.get_close_matches(word, list(allowed), n=1)
            hint = f" Did you mean {close[0]}?" if close else ""
            self.fault(column, f'"{given}" is none of {", ".join(allowed)}.{hint} Write one of them.')
        return next(iter(allowed))

    def count(self, column: Count) -> int:
        """Read a whole number within its bounds."""
        number = self._number(column.name, column.low, column.high)
        if not number.is_integer():
            self.fault(column.name, f"{number:g} is no whole number. Write one.")
        return int(number)

    def measure(self, column: Measure) -> float:
        """Read a number in the column's unit, as SI."""
        number = self._number(column.name, column.low, column.high)
        return read_number(repr(number), column.factor)

    def _number(self, column: str, low: float, high: float) -> float:
        """Read a number; a fault gives the lower bound in its stead."""
        given = self.text(column)
        text = given.replace(",", ".") if self._decimal_comma else given
        if not given:
            return float(low)
        if not _NUMBER.fullmatch(text):
            self.fault(column, f'"{given}" is no number. Write digits with one decimal mark and no unit.')
            return float(low)
        number = float(text)
        if not low <= number <= high:
            self.fault(column, f"{given} must lie between {low:g} and {high:g}. Correct it.")
            return float(low)
        return number
