"""Turn what SQLite says into sentences for the person."""

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Final

from sqlalchemy.exc import DBAPIError

from farface.kernel import FarfaceError, Malformed, Missing

_DAMAGED: Final = (
    "is no journal, or a damaged one. Put back a copy of it, or move it away to begin a new journal"
)
_SENTENCES: Final[dict[str, tuple[type[FarfaceError], str]]] = {
    "file is not a database": (Malformed, _DAMAGED),
    "malformed": (Malformed, _DAMAGED),
    "no such table": (Malformed, _DAMAGED),
    "disk I/O error": (Missing, "could not be read or written. Check the disk that holds it"),
    "is full": (Missing, "could not be written: the disk is full. Free some space, then try again"),
    "readonly database": (Missing, "may not be written. Ask for the right to write it, or copy the bench"),
    "unable to open": (Missing, "cannot be opened. Make its folder, or ask for the right to use it"),
    "is locked": (Missing, "is in use by another program. Close that program, then try again"),
}


@contextmanager
def spoken(path: Path) -> Iterator[None]:
    """Raise a `FarfaceError` for each fault of the file that a person can put right; let others through."""
    try:
        yield
    except (sqlite3.DatabaseError, DBAPIError) as error:
        cause = error.orig if isinstance(error, DBAPIError) else error
        for said, (kind, sentence) in _SENTENCES.items():
            if said in str(cause):
                raise kind(f"{path} {sentence}.") from error
        raise


def damaged(path: Path) -> FarfaceError:
    """Give the error of a journal that does not hold together."""
    return Malformed(f"{path} {_DAMAGED}.")
