"""Hold what the journal gives back: records, what they rest on, and stored files."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any


@dataclass(frozen=True, slots=True, kw_only=True)
class Input:
    """Name one thing that a record rests on: another record by its id, or a file by its SHA-256.

    ``role`` says what it served as, such as "rig" or "outcomes". ``sha256`` is the hash of the record named;
    the journal fills it in, so that a record vouches for all that it rests on.
    """

    role: str
    record: str | None = None
    file: str | None = None
    sha256: str | None = None

    def __post_init__(self) -> None:
        if (self.record is None) == (self.file is None):
            raise ValueError(f"the input {self.role} must name a record or a file, and not both")


@dataclass(frozen=True, slots=True, kw_only=True)
class Record:
    """Hold one record of the journal; ``number`` counts them from 1 in the order of writing.

    ``supersedes`` is the id of the record that this one replaces, and ``reason`` says why it does; where it
    is ``withdrawn`` as well, nothing stands in the place of the old one. ``sha256`` is the hash of it all
    but the number.
    """

    number: int
    id: str
    kind: str
    at_utc: str
    program_version: str
    title: str
    body: Mapping[str, Any]
    inputs: tuple[Input, ...]
    seed: int | None
    supersedes: str | None
    reason: str
    withdrawn: bool
    sha256: str


@dataclass(frozen=True, slots=True, kw_only=True)
class StoredFile:
    """Hold one file that the journal keeps a copy of; ``path`` is the copy, ``name`` what it was called."""

    sha256: str
    name: str
    size_bytes: int
    kind: str
    at_utc: str
    path: Path
