"""Turn rows of the database into the records that the journal gives back."""

from pathlib import Path

from farface.journal.entries import Input, Record, StoredFile
from farface.journal.schema import FileRow, RecordRow


def record_of(row: RecordRow) -> Record:
    """Give the record that a row holds."""
    return Record(
        number=row.number,
        id=row.id,
        kind=row.kind,
        at_utc=row.at_utc,
        program_version=row.program_version,
        title=row.title,
        body=row.body,
        inputs=tuple(Input(**item) for item in row.inputs),
        seed=row.seed,
        supersedes=row.supersedes,
        reason=row.reason,
    )


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
    """Write an input as the database holds it."""
    given = {"record": item.record, "file": item.file}
    return {"role": item.role} | {key: value for key, value in given.items() if value is not None}
