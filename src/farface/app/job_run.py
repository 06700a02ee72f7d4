"""Run one job in a process of its own: ``python -m farface.app.job_run FOLDER ID [JOURNAL]``."""

import os
import sys
import threading
import time
import traceback
from pathlib import Path
from typing import Final

from farface.app.answer import plain
from farface.app.job_book import BEAT_S, Job, JobBook
from farface.app.job_kinds import KINDS
from farface.app.workbench import open_workbench
from farface.kernel import FarfaceError

# At most so many notes of progress a second: the disk is there for the journal.
NOTES_A_SECOND: Final = 5
# What was asked to stop stops at its next note of progress, or after so long by force.
PATIENCE_S: Final = 1.5
STOPPED: Final = "Stopped as you asked. The journal holds everything up to the last finished step."


class _Stop(Exception):
    """Leave the work at a note of progress."""


class _Pulse:
    """Beat, note progress, and stop when asked; the beats run in a thread of their own."""

    def __init__(self, book: JobBook, job_id: str) -> None:
        self.book, self.job_id = book, job_id
        self.asked, self.over = threading.Event(), threading.Event()
        self.noted_s = 0.0

    def tell(self, what: str, share: float) -> None:
        """Note how far the work is."""
        if self.asked.is_set():
            raise _Stop
        now_s = time.monotonic()
        if now_s - self.noted_s >= 1.0 / NOTES_A_SECOND or share >= 1.0:
            self.noted_s = now_s
            self.book.tell(self.job_id, what, share)

    def beat(self) -> None:
        """Beat until the work is over; enforce a stop that the work does not heed."""
        while not self.over.wait(BEAT_S / 4):
            if self.book.beat(self.job_id):
                self.asked.set()
                if not self.over.wait(PATIENCE_S):
                    self.book.end(self.job_id, "cancelled", STOPPED)
                    os._exit(1)


def run_job(folder: Path, job_id: str, journal: str | None = None) -> None:
    """Run a job of a bench's book to its end, whatever that is."""
    book = JobBook(folder)
    pulse = _Pulse(book, job_id)
    thread = threading.Thread(target=pulse.beat, daemon=True)
    thread.start()
    try:
        _work(book.get(job_id), folder, journal, pulse)
    except _Stop:
        book.end(job_id, "cancelled", STOPPED)
    except FarfaceError as error:
        book.end(job_id, "failed", str(error))
    except Exception:
        told = traceback.format_exc(limit=-3)
        book.end(job_id, "failed", f"This is a fault of farface, not yours; please report it. {told}")
    finally:
        pulse.over.set()


def _work(job: Job, folder: Path, journal: str | None, pulse: _Pulse) -> None:
    with open_workbench(folder, journal=journal) as work:
        answer = KINDS[job.kind](work, job.request, pulse.tell)
    told = {"title": answer.title, "sentences": answer.sentences, "files": answer.files, "data": answer.data}
    pulse.book.end(job.id, "done", answer.sentences[0] if answer.sentences else answer.title, plain(told))


if __name__ == "__main__":
    run_job(Path(sys.argv[1]), sys.argv[2], sys.argv[3] if len(sys.argv) > 3 else None)
