"""Turn what the database says into sentences for the person."""

import json
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Final

from sqlalchemy.exc import DBAPIError

from farface.kernel import FarfaceError, Malformed, Missing

_DAMAGED: Final = (
    "is no journal, or a damaged one. Put back a copy of it, or run `farface journal rescue`, which keeps "
    "this "
    "file and takes all that can be read into a new journal"
)
_IN_USE: Final = (
    "is in use by another program. Wait for that program or close it, then try again; nothing was lost"
)
_Sentences = dict[str, tuple[type[FarfaceError], str]]
_SQLITE: Final[_Sentences] = {
    "file is not a database": (Malformed, _DAMAGED),
    "malformed": (Malformed, _DAMAGED),
    "no such table": (Malformed, _DAMAGED),
    "decode to UTF-8": (Malformed, _DAMAGED),
    "unsupported": (Malformed, _DAMAGED),
    "no such column": (Malformed, _DAMAGED),
    "locking protocol": (
        Missing,
        "lies on a drive that cannot lock files, as many network drives cannot. Copy the bench to a disk "
        "of this "
        "machine, or share its journal on PostgreSQL with --journal",
    ),
    "disk I/O error": (
        Missing,
        "could not be read or written. Check the disk that holds it; a network drive may not lock files: "
        "then "
        "copy the bench to a disk of this machine, or share its journal on PostgreSQL with --journal",
    ),
    "is full": (Missing, "could not be written: the disk is full. Free some space, then try again"),
    "readonly database": (Missing, "may not be written. Ask for the right to write it, or copy the bench"),
    "unable to open": (Missing, "cannot be opened. Make its folder, or ask for the right to use it"),
    "is locked": (Missing, _IN_USE),
}
# By the first digits of PostgreSQL's error codes, the longer first.
_SERVER: Final[_Sentences] = {
    "53100": (
        Missing,
        "could not be written: the server's disk is full. Free some space there, then try again",
    ),
    "55P03": (Missing, _IN_USE),
    "3D000": (Missing, "is not there: the server has no such database. Create it, or correct the address"),
    "42501": (Missing, "may not be used by this person. Ask the server's keeper for the right to it"),
    "25006": (Missing, "may not be written: that server only answers. Name the one that takes writes"),
    "28": (Missing, "refuses the name or password given. Correct them, or ask the server's keeper"),
    "08": (Missing, "lost its server. What was acknowledged is kept; try again once the server is back"),
    "57P": (Missing, "lost its server. What was acknowledged is kept; try again once the server is back"),
    "": (Missing, "cannot be reached. See that the server runs and that this machine may connect to it"),
}


@contextmanager
def spoken(name: str) -> Iterator[None]:
    """Raise a `FarfaceError` for each fault of a journal that a person can put right; let others through."""
    try:
        yield
    except (json.JSONDecodeError, UnicodeDecodeError) as error:
        raise damaged(name) from error
    except (sqlite3.DatabaseError, DBAPIError) as error:
        cause = error.orig if isinstance(error, DBAPIError) else error
        found = _of_sqlite(cause) if isinstance(cause, sqlite3.Error) else _of_server(cause)
        if found is None:
            raise
        kind, sentence = found
        raise kind(f"{name} {sentence}.") from error


def damaged(name: str) -> FarfaceError:
    """Give the error of a journal that does not hold together."""
    return Malformed(f"{name} {_DAMAGED}.")


def _of_sqlite(cause: sqlite3.Error) -> tuple[type[FarfaceError], str] | None:
    return next((found for said, found in _SQLITE.items() if said in str(cause)), None)


def _of_server(cause: BaseException | None) -> tuple[type[FarfaceError], str] | None:
    """Look the server's code up; a fault without one comes from the way to the server."""
    code = getattr(cause, "sqlstate", None)
    if code is None:
        return _unreached(str(cause))
    return next((found for start, found in _SERVER.items() if start and code.startswith(start)), None)


def _unreached(said: str) -> tuple[type[FarfaceError], str]:
    """Tell apart, by the words of the client, the reasons why no connection came about."""
    for words, code in (("does not exist", "3D000"), ("authentication", "28"), ("password", "28")):
        if words in said:
            return _SERVER[code]
    return _SERVER["" if "connection failed" in said or "connect" in said else "08"]
