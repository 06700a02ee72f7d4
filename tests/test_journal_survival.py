"""Check that acknowledged records outlive a killed program and that two writers lose nothing."""

import os
import signal
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest

from farface.journal import Journal

# Write records for ever, or so many, and say each one's id once `add` has returned.
WRITER = """
import itertools, sys
from farface.journal import Journal
path, name, most = sys.argv[1], sys.argv[2], int(sys.argv[3])
with Journal.open(path) as journal:
    for count in itertools.islice(itertools.count(), most or None):
        body = {"count": count, "padding": [0.5] * 300}
        print(journal.add(kind=name, title="x", body=body, at_utc="2025-03-01T09:30:00Z").id, flush=True)
"""
KILLS = 5
RECORDS_EACH = 60


def _start(path: Path, name: str, most: int) -> "subprocess.Popen[str]":
    arguments = [sys.executable, "-c", WRITER, str(path), name, str(most)]
    return subprocess.Popen(arguments, stdout=subprocess.PIPE, text=True)


def _is_sound(path: Path) -> bool:
    with closing(sqlite3.connect(path)) as connection:
        return connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)


@pytest.mark.skipif(os.name != "posix", reason="kill -9 is a POSIX matter")
def test_every_acknowledged_record_outlives_a_kill(tmp_path: Path) -> None:
    path = tmp_path / "journal.sqlite"
    acknowledged: list[str] = []
    for kill in range(KILLS):
        writer = _start(path, "killed", 0)
        assert writer.stdout is not None
        # A different number each time, so that the kill falls at different moments of a transaction.
        acknowledged += [writer.stdout.readline().strip() for _ in range(3 + 7 * kill)]
        writer.send_signal(signal.SIGKILL)
        rest, _ = writer.communicate()
        acknowledged += [line for line in rest.split("\n")[:-1] if line]
    with Journal.open(path) as journal:
        kept = [record.id for record in journal.all()]
        numbers = [record.number for record in journal.all()]
    # Each kill may fall between the write and its acknowledgement: one record more, never one less.
    assert set(acknowledged) <= set(kept)
    assert len(kept) - len(acknowledged) <= KILLS
    assert numbers == list(range(1, len(kept) + 1))
    assert _is_sound(path)


def test_two_writers_on_a_new_journal_lose_nothing(tmp_path: Path) -> None:
    path = tmp_path / "journal.sqlite"
    writers = {name: _start(path, name, RECORDS_EACH) for name in ("left", "right")}
    acknowledged = {name: writer.communicate()[0].split() for name, writer in writers.items()}
    assert [writer.returncode for writer in writers.values()] == [0, 0]
    with Journal.open(path) as journal:
        for name, ids in acknowledged.items():
            assert [record.id for record in journal.all(name)] == ids
            assert len(ids) == RECORDS_EACH
        assert [record.number for record in journal.all()] == list(range(1, 2 * RECORDS_EACH + 1))
    assert _is_sound(path)
