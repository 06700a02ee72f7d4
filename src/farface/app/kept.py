"""Find files that the journal keeps a copy of."""

from dataclasses import dataclass
from pathlib import Path

from farface.app.workbench import Workbench


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptFile:
    """Hold where a kept file lies and what it was called."""

    path: Path
    name: str


def kept_file(work: Workbench, sha256: str) -> KeptFile:
    """Find a kept file by its hash. Raises `Missing` where the journal has none."""
    found = work.journal.file(sha256)
    return KeptFile(path=found.path, name=found.name)
