"""Start long work in a process of its own, watch it, and stop it."""

import subprocess
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final

from farface.app.answer import Answer
from farface.app.job_book import Job, JobBook
from farface.app.job_kinds import KINDS
from farface.kernel import Malformed, show_number
from farface.report.content import Table

# Children of this process, so that they are waited for and leave nothing behind.
_CHILDREN: Final[dict[str, "subprocess.Popen[bytes]"]] = {}


def start_job(
    folder: Path, kind: str, title: str, request: Mapping[str, Any], *, journal: str | None = None
) -> Job:
    """Start a kind of `KINDS` on a bench; one that is running already with the same request is returned."""
    if kind not in KINDS:
        raise Malformed(f'"{kind}" is no kind of job. Choose one of: {", ".join(KINDS)}.')
    book = JobBook(folder)
    book.mark_lost()
    for job in book.last(kind=kind):
        if job.running and dict(job.request) == dict(request):
            return job
    job = book.add(kind, title, request)
    arguments = [str(folder), job.id, *([] if journal is None else [journal])]
    _CHILDREN[job.id] = subprocess.Popen(
        [sys.executable, "-m", "farface.app.job_run", *arguments],
        stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        start_new_session=True,
    )  # fmt: skip
    return job


def look_at_jobs(folder: Path) -> Answer:
    """List the last jobs of a bench."""
    book = JobBook(folder)
    _reap(book)
    jobs = book.last()
    running = sum(job.running for job in jobs)
    rows = tuple((job.title, job.state, show_seconds(job.took_s()), job.says) for job in jobs)
    return Answer(
        title="Long work",
        sentences=(f"{running} running." if running else "Nothing is running.",),
        tables=(Table(caption="Last jobs", header=("what", "state", "time", "says"), rows=rows),),
        data={"jobs": [job_data(job) for job in jobs]},
    )


def look_at_job(folder: Path, job_id: str) -> Answer:
    """Tell how far one job is."""
    book = JobBook(folder)
    _reap(book)
    job = book.get(job_id)
    return Answer(title=job.title, sentences=(job_words(job),), data={"job": job_data(job)})


def stop_job(folder: Path, job_id: str) -> Job:
    """Ask a job to stop; it does at its next step, or a moment later by force."""
    return JobBook(folder).ask_to_stop(job_id)


def job_data(job: Job) -> dict[str, Any]:
    """Give what a page shows of a job."""
    return {
        "id": job.id, "kind": job.kind, "title": job.title, "state": job.state, "doing": job.doing,
        "share": job.share, "says": job.says, "words": job_words(job), "took_s": job.took_s(),
        "left_s": job.left_s(), "request": dict(job.request), "answer": dict(job.answer),
    }  # fmt: skip


def job_words(job: Job) -> str:
    """Say in one sentence where a job is."""
    if not job.running:
        return job.says
    if job.cancel:
        return "Stopping …"
    left_s = job.left_s()
    about = "" if left_s is None else f", about {show_seconds(left_s)} left"
    return f"{job.doing or 'Starting'}{about}"


def show_seconds(time_s: float) -> str:
    """Write a time as a person waits it."""
    if time_s < 90.0:
        return f"{max(1, round(time_s))} s"
    return f"{show_number(time_s / 60.0, 2)} min" if time_s < 5400.0 else f"{time_s / 3600.0:.1f} h"


def _reap(book: JobBook) -> None:
    """Note children that ended without a word, and jobs of earlier starts that fell silent."""
    for job_id, child in list(_CHILDREN.items()):
        if child.poll() is not None:
            del _CHILDREN[job_id]
            book.end(job_id, "lost", "Its process ended without a word. Start it again.")
    book.mark_lost()
