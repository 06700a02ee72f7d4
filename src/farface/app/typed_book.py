"""Keep the trail of what is typed into coupons' tables: which finding changed from what to what, and when.

The trail is a small SQLite file beside the journal. It makes a change that is sent twice count once, and lets
one writer in at a time; when the outcomes are recorded, the journal keeps a copy of it.
"""

import json
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Final

from farface.app.workbench import now_utc

_TABLE: Final = """
CREATE TABLE IF NOT EXISTS typed (
  key TEXT PRIMARY KEY, plate TEXT NOT NULL, cell TEXT NOT NULL, finding TEXT NOT NULL,
  was TEXT NOT NULL, now TEXT NOT NULL, at_utc TEXT NOT NULL, place TEXT NOT NULL
)"""


class TypedBook:
    """Read and write the trail of one bench."""

    def __init__(self, folder: Path) -> None:
        self.path = folder / "typed.sqlite"

    @contextmanager
    def writing(self) -> Iterator[sqlite3.Connection]:
        """Open the trail for one writer; others wait, also those of other processes."""
        with closing(sqlite3.connect(self.path, timeout=20.0, isolation_level=None)) as book:
            book.execute(_TABLE)
            book.execute("BEGIN IMMEDIATE")
            try:
                yield book
            except BaseException:
                book.execute("ROLLBACK")
                raise
            book.execute("COMMIT")

    def trail(self, plate: str) -> bytes:
        """Write the trail of a plate as JSON, one change a line, in the order of typing."""
        with self.writing() as book:
            rows = book.execute(
                "SELECT cell, finding, was, now, at_utc, place FROM typed WHERE plate = ? ORDER BY rowid",
                (plate,),
            ).fetchall()
        names = ("cell", "finding", "was", "now", "at_utc", "place")
        return b"".join(json.dumps(dict(zip(names, row, strict=True))).encode() + b"\n" for row in rows)


def is_known(book: sqlite3.Connection, key: str) -> bool:
    """Tell whether a change was written already."""
    return book.execute("SELECT 1 FROM typed WHERE key = ?", (key,)).fetchone() is not None


def note(
    book: sqlite3.Connection, key: str, *, plate: str, cell: str, finding: str, was: str, now: str, place: str
) -> None:
    """Write one change into the trail."""
    book.execute(
        "INSERT INTO typed VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
        (key, plate, cell, finding, was, now, now_utc(), place),
    )
