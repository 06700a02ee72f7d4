"""Lay nested records out as flat tables, and write those as CSV and Parquet."""

import io
import json
from collections.abc import Mapping, Sequence
from typing import Any

Row = Mapping[str, Any]


def flat(content: Mapping[str, Any], before: str = "") -> dict[str, Any]:
    """Join the names of nested values by underscores; a list becomes a text of JSON."""
    row: dict[str, Any] = {}
    for key, value in content.items():
        name = f"{before}_{key}" if before else key
        if isinstance(value, Mapping):
            row |= flat(value, name)
        else:
            row[name] = json.dumps(value) if isinstance(value, list) else value
    return row


def csv_bytes(rows: Sequence[Row]) -> bytes:
    """Write rows as CSV in UTF-8 with a header; what a row lacks is blank."""
    buffer = io.BytesIO()
    _frame(rows).write_csv(buffer)
    return buffer.getvalue()


def parquet_bytes(rows: Sequence[Row]) -> bytes:
    """Write rows as Parquet; what a row lacks is null."""
    buffer = io.BytesIO()
    _frame(rows).write_parquet(buffer)
    return buffer.getvalue()


def _frame(rows: Sequence[Row]) -> Any:
    """Build a table; a column of whole numbers and fractions holds fractions, any other mixture texts."""
    import polars

    names = list(dict.fromkeys(name for row in rows for name in row))
    columns = []
    for name in names:
        values = [row.get(name) for row in rows]
        kinds = {type(value) for value in values if value is not None}
        if kinds <= {int, float} and len(kinds) == 2:
            values = [None if value is None else float(value) for value in values]
        elif len(kinds) > 1:
            values = [None if value is None else str(value) for value in values]
        columns.append(polars.Series(name, values))
    return polars.DataFrame(columns)
