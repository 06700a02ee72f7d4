"""Open SQLite so that what was acknowledged stays, and so that two programs can share it."""

import json
from functools import partial
from pathlib import Path
from typing import Any, Final

from sqlalchemy import URL, Connection, Engine, create_engine, event

# WAL lets readers read while one writes; FULL waits for the disk, so that an acknowledged record also
# outlives a power cut; the timeout lets a second writer wait for its turn.
_PRAGMAS: Final = ("busy_timeout = 20000", "journal_mode = WAL", "synchronous = FULL", "foreign_keys = ON")
_BEGIN: Final = "farface_begin"


def connect(path: Path) -> Engine:
    """Give an engine on a file; its transactions read unless it went through `writing`."""
    engine = create_engine(
        URL.create("sqlite", database=str(path)),
        json_serializer=partial(json.dumps, allow_nan=False, ensure_ascii=False),
    )
    event.listen(engine, "connect", _prepare)
    event.listen(engine, "begin", _begin)
    return engine


def writing(engine: Engine) -> Engine:
    """Give the same engine, but taking the write lock at the start of each transaction.

    What such a transaction reads, such as the last number, cannot change before it writes.
    """
    return engine.execution_options(**{_BEGIN: "IMMEDIATE"})


def _prepare(connection: Any, _: object) -> None:
    # The driver would otherwise begin transactions by its own rules, and later than we need.
    connection.isolation_level = None
    for pragma in _PRAGMAS:
        connection.execute(f"PRAGMA {pragma}")


def _begin(connection: Connection) -> None:
    connection.exec_driver_sql(f"BEGIN {connection.get_execution_options().get(_BEGIN, 'DEFERRED')}")
