"""Keep the book of long work: what was asked, how far it is, and how it ended.

The book is a small SQLite file beside the journal. What runs is a process of its own, which goes on when the
pages are closed or started again; it shows that it lives by a beat, and what has stopped beating is lost.
"""

import json
import sqlite3
import time
import uuid
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final, Literal

from farface.kernel import Missing

State = Literal["running", "done", "failed", "cancelled", "lost"]

BEAT_S: Final = 1.0
# A machine under load may hold a beat back; a process that is silent for longer has gone.
LOST_AFTER_S: Final = 30.0
_KEPT: Final = 200

_TABLE: Final = """
CREATE TABLE IF NOT EXISTS jobs (
  id TEXT PRIMARY KEY, kind TEXT NOT NULL, title TEXT NOT NULL, request TEXT NOT NULL, state TEXT NOT NULL,
  doing TEXT NOT NULL DEFAULT '', share REAL NOT NULL DEFAULT 0, says TEXT NOT NULL DEFAULT '',
  answer TEXT NOT NULL DEFAULT '', cancel INTEGER NOT NULL DEFAULT 0,
  started_s REAL NOT NULL, beat_s REAL NOT NULL, ended_s REAL
)"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """Hold one piece of long work; ``says`` is its first sentence or why it failed, times are UNIX times.

    ``share`` is done of what it is ``doing`` now, 0 to 1; ``answer`` what the use case told, once done.
    """

    id: str
    kind: str
    title: str
    request: Mapping[str, Any]
    state: State
    doing: str
    share: float
    says: str
    answer: Mapping[str, Any]
    cancel: bool
    started_s: float
    beat_s: float
    ended_s: float | None

    @property
    def running(self) -> bool:
        """Tell whether the work goes on."""
        return self.state == "running"

    def took_s(self) -> float:
        """Tell how long it has run, or ran."""
        return (self.ended_s or time.time()) - self.started_s

    def left_s(self) -> float | None:
        """Estimate the time left from the share done; None before there is enough to go by."""
        if not self.running or self.share < 0.03:
            return None
        return self.took_s() * (1.0 - self.share) / self.share


class JobBook:
    """Read and write the book of one bench; every call is one short transaction."""

    def __init__(self, folder: Path) -> None:
        self.path = folder / "jobs.sqlite"

    def add(self, kind: str, title: str, request: Mapping[str, Any]) -> Job:
        """Enter a new job as running, and drop the oldest that have ended."""
        job_id, now_s = uuid.uuid4().hex[:12], time.time()
        with self._open() as book:
            book.execute(
                "INSERT INTO jobs (id, kind, title, request, state, started_s, beat_s) "
                "VALUES (?, ?, ?, ?, 'running', ?, ?)",
                (job_id, kind, title, json.dumps(dict(request)), now_s, now_s),
            )
            book.execute(
                "DELETE FROM jobs WHERE state != 'running' AND id NOT IN "
                "(SELECT id FROM jobs ORDER BY started_s DESC LIMIT ?)",
                (_KEPT,),
            )
        return self.get(job_id)

    def get(self, job_id: str) -> Job:
        """Find a job; `Missing` when the book has none of that name."""
        with self._open() as book:
            row = book.execute("SELECT * FROM jobs WHERE id = ?", (job_id,)).fetchone()
        if row is None:
            raise Missing(f"There is no job {job_id[:40]}. Look at the list of jobs.")
        return _job(row)

    def last(self, count: int = 20, *, kind: str | None = None) -> tuple[Job, ...]:
        """List the last jobs, the newest first."""
        with self._open() as book:
            rows = book.execute(
                "SELECT * FROM jobs WHERE ? IS NULL OR kind = ? ORDER BY started_s DESC LIMIT ?",
                (kind, kind, count),
            ).fetchall()
        return tuple(_job(row) for row in rows)

    def tell(self, job_id: str, doing: str, share: float) -> None:
        """Write how far a job is, which is a beat too."""
        with self._open() as book:
            book.execute(
                "UPDATE jobs SET doing = ?, share = ?, beat_s = ? WHERE id = ?",
                (doing, min(max(share, 0.0), 1.0), time.time(), job_id),
            )

    def beat(self, job_id: str) -> bool:
        """Write that a job lives, and tell whether it was asked to stop."""
        with self._open() as book:
            book.execute("UPDATE jobs SET beat_s = ? WHERE id = ?", (time.time(), job_id))
            row = book.execute("SELECT cancel FROM jobs WHERE id = ?", (job_id,)).fetchone()
        return row is None or bool(row["cancel"])

    def ask_to_stop(self, job_id: str) -> Job:
        """Ask a job to stop; one that has ended stays as it is."""
        with self._open() as book:
            book.execute("UPDATE jobs SET cancel = 1 WHERE id = ? AND state = 'running'", (job_id,))
        return self.get(job_id)

    def end(self, job_id: str, state: State, says: str, answer: Mapping[str, Any] | None = None) -> None:
        """Write how a job ended; what was thought lost and ended after all is told as it ended."""
        with self._open() as book:
            book.execute(
                "UPDATE jobs SET state = ?, says = ?, answer = ?, ended_s = ? "
                "WHERE id = ? AND state IN ('running', 'lost')",
                (state, says, json.dumps(dict(answer or {}), allow_nan=False), time.time(), job_id),
            )

    def mark_lost(self) -> int:
        """Mark the running jobs whose process has gone silent, and count them."""
        with self._open() as book:
            found = book.execute(
                "UPDATE jobs SET state = 'lost', ended_s = beat_s, says = ? "
                "WHERE state = 'running' AND beat_s < ?",
                ("Its process has gone, so it never ended. Nothing half-done was kept: start it again.",
                 time.time() - LOST_AFTER_S),
            )  # fmt: skip
            return found.rowcount

    @contextmanager
    def _open(self) -> Iterator[sqlite3.Connection]:
        book = sqlite3.connect(self.path, timeout=20.0)
        book.row_factory = sqlite3.Row
        try:
            with book:
                book.execute(_TABLE)
                yield book
        finally:
            book.close()


def _job(row: sqlite3.Row) -> Job:
    told = {key: row[key] for key in row.keys()}  # noqa: SIM118  (a row iterates over its values)
    told["request"] = json.loads(told["request"])
    told["answer"] = json.loads(told["answer"] or "{}")
    told["cancel"] = bool(told["cancel"])
    return Job(**told)
