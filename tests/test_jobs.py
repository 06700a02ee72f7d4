"""Long work: it runs beside, says how far it is, stops when asked, and is called lost when it went."""

import time
from collections.abc import Callable
from pathlib import Path

import pytest

from farface.app import job_run
from farface.app.answer import Answer
from farface.app.job_book import LOST_AFTER_S, Job, JobBook
from farface.app.job_kinds import KINDS
from farface.app.jobs import look_at_job, start_job, stop_job
from farface.kernel import Malformed, Missing

WAIT_S = 60.0
WINDOW = {"typed": {}, "x": "energy=100 uJ..500 uJ", "y": "pulses=2..4"}


def ended(folder: Path, job_id: str) -> Job:
    deadline_s = time.monotonic() + WAIT_S
    while time.monotonic() < deadline_s:
        look_at_job(folder, job_id)
        job = JobBook(folder).get(job_id)
        if not job.running:
            return job
        time.sleep(0.1)
    raise AssertionError("the job never ended")


def test_a_job_runs_in_a_process_of_its_own_and_leaves_a_record(bench_folder: Path) -> None:
    job = start_job(bench_folder, "window", "Map the window", WINDOW)
    assert job.running
    over = ended(bench_folder, job.id)
    assert over.state == "done", over.says
    assert over.says.startswith("Steadiest at")
    assert start_job(bench_folder, "window", "Map it again", WINDOW).id != job.id


def test_a_refusal_is_told_in_its_own_sentence(bench_folder: Path) -> None:
    job = start_job(bench_folder, "window", "Map the window", {**WINDOW, "x": "colour"})
    over = ended(bench_folder, job.id)
    assert (over.state, '"colour" is no setting' in over.says) == ("failed", True)


def test_an_unknown_kind_is_refused_by_name(tmp_path: Path) -> None:
    with pytest.raises(Malformed, match='"dance" is no kind of job'):
        start_job(tmp_path, "dance", "Dance", {})
    with pytest.raises(Missing):
        JobBook(tmp_path).get("none")


def run_here(monkeypatch: pytest.MonkeyPatch, folder: Path, work: Callable) -> Job:
    """Run a job in this process, with a use case of the test's own."""
    monkeypatch.setitem(KINDS, "trial", work)
    book = JobBook(folder)
    job = book.add("trial", "A trial", {})
    job_run.run_job(folder, job.id)
    return book.get(job.id)


def test_what_was_asked_to_stop_stops_at_its_next_step(
    monkeypatch: pytest.MonkeyPatch, bench_folder: Path
) -> None:
    steps = []

    def work(bench: object, request: object, tell: Callable) -> Answer:
        for k in range(1000):
            tell("counting", k / 1000)
            steps.append(k)
            if k == 5:
                stop_job(bench_folder, JobBook(bench_folder).last()[0].id)
            time.sleep(0.01)
        return Answer(title="counted")

    over = run_here(monkeypatch, bench_folder, work)
    assert over.state == "cancelled"
    assert 5 < len(steps) < 500


def test_a_fault_of_ours_is_told_as_one(monkeypatch: pytest.MonkeyPatch, bench_folder: Path) -> None:
    def work(*_: object) -> Answer:
        raise ZeroDivisionError("a bug")

    over = run_here(monkeypatch, bench_folder, work)
    assert over.state == "failed"
    assert "fault of farface" in over.says and "a bug" in over.says


def test_progress_gives_the_time_left(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    book = JobBook(tmp_path)
    job = book.add("learn", "Learn", {})
    assert book.get(job.id).left_s() is None
    book.tell(job.id, "drawing", 0.25)
    monkeypatch.setattr(time, "time", lambda: job.started_s + 10.0)
    assert book.get(job.id).left_s() == pytest.approx(30.0)


def test_a_job_that_fell_silent_is_lost_and_one_that_ends_after_all_is_not(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    book = JobBook(tmp_path)
    job = book.add("learn", "Learn", {})
    assert book.mark_lost() == 0
    now_s = time.time()
    monkeypatch.setattr(time, "time", lambda: now_s + LOST_AFTER_S + 2.0)
    assert book.mark_lost() == 1
    assert book.get(job.id).state == "lost"
    book.end(job.id, "done", "It was only slow.")
    assert book.get(job.id).state == "done"


def test_time_is_told_as_a_person_waits_it() -> None:
    from farface.app.jobs import show_seconds

    assert [show_seconds(s) for s in (0.2, 42.0, 300.0, 9000.0)] == ["1 s", "42 s", "5.0 min", "2.5 h"]
