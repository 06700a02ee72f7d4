"""Open the database so that what was acknowledged stays, and so that many programs can share it."""

import json
from functools import partial
from typing import Any, Final

from sqlalchemy import Connection, Engine, create_engine, event

from farface.journal.place import Place
from farface.kernel import Missing

# WAL lets readers read while one writes; FULL waits for the disk, so that an acknowledged record also
# outlives a power cut; the timeout lets a second writer wait for its turn.
_PRAGMAS: Final = ("busy_timeout = 20000", "journal_mode = WAL", "synchronous = FULL", "foreign_keys = ON")
_BEGIN: Final = "farface_begin"
_WAIT_S: Final = 10
# Writers on a server take this lock in turn; the number is "farf" in ASCII.
_TURN: Final = ("SET LOCAL lock_timeout = '20s'", f"SELECT pg_advisory_xact_lock({0x66617266})")
# A session waits for the server's disk too, and gives up where a program died in the middle.
_SESSION: Final = "-c synchronous_commit=on -c idle_in_transaction_session_timeout=60000"


def connect(place: Place) -> Engine:
    """Give an engine on a place; its transactions read unless it went through `writing`."""
    serializer = partial(json.dumps, allow_nan=False)
    if place.path is None:
        return _server(place, serializer)
    engine = create_engine(place.url, json_serializer=serializer)
    event.listen(engine, "connect", _prepare)
    event.listen(engine, "begin", _begin)
    return engine


def writing(engine: Engine) -> Engine:
    """Give the same engine, but taking the write lock at the start of each transaction.

    What such a transaction reads, such as the last number, cannot change before it writes.
    """
    return engine.execution_options(**{_BEGIN: "IMMEDIATE"})


def _server(place: Place, serializer: Any) -> Engine:
    try:
        engine = create_engine(
            place.url,
            json_serializer=serializer,
            pool_pre_ping=True,
            connect_args={"connect_timeout": _WAIT_S, "options": _SESSION},
        )
    except ModuleNotFoundError as error:
        raise Missing(
            'A journal on PostgreSQL needs the package psycopg. Install farface with it: "farface[postgres]".'
        ) from error
    event.listen(engine, "begin", _take_turn)
    return engine


def _prepare(connection: Any, _: object) -> None:
    # The driver would otherwise begin transactions by its own rules, and later than we need.
    connection.isolation_level = None
    for pragma in _PRAGMAS:
        connection.execute(f"PRAGMA {pragma}")


def _begin(connection: Connection) -> None:
    connection.exec_driver_sql(f"BEGIN {connection.get_execution_options().get(_BEGIN, 'DEFERRED')}")


def _take_turn(connection: Connection) -> None:
    if _BEGIN in connection.get_execution_options():
        for statement in _TURN:
            connection.exec_driver_sql(statement)
