"""Turn rows of the database into the records that the journal gives back, and into plain JSON."""

from collections.abc import Mapping
from dataclasses import asdict
from pathlib import Path
from typing import Any

from farface.journal.digest import SAID
from farface.journal.entries import Input, Record, StoredFile
from farface.journal.schema import FileRow, RecordRow


def record_of(row: RecordRow) -> Record:
    """Give the record that a row holds."""
    said = {name: getattr(row, name) for name in SAID}
    return record_from(said | {"number": row.number, "sha256": row.sha256})


def record_from(content: Mapping[str, Any]) -> Record:
    """Give the record that plain JSON holds."""
    return Record(**{**content, "inputs": tuple(Input(**item) for item in content["inputs"])})


def record_json(record: Record) -> dict[str, Any]:
    """Write a record as plain JSON, inputs as the database holds them."""
    fields = {name: getattr(record, name) for name in Record.__slots__}
    return fields | {"inputs": [input_json(item) for item in record.inputs]}


def file_of(row: FileRow, folder: Path) -> StoredFile:
    """Give the stored file that a row holds, whose copy lies in ``folder``."""
    return StoredFile(
        sha256=row.sha256,
        name=row.name,
        size_bytes=row.bytes,
        kind=row.kind,
        at_utc=row.at_utc,
        path=folder / row.sha256,
    )


def input_json(item: Input) -> dict[str, str]:
    """Write an input as the database holds it, without what it does not name."""
    return {key: value for key, value in asdict(item).items() if value is not None}
