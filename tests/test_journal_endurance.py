"""Check that killed writers, crowds, full and slow disks and jumping clocks lose and spoil nothing."""

import os
import random
import shutil
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from typing import TypeVar

import pytest
from sqlalchemy import insert

from demo_bench import demo_bench
from farface.app.journal_log import list_files, list_records
from farface.app.journal_open import OpenJournal, open_journal
from farface.app.learn import learn_from_bench
from farface.app.outcomes import take_outcomes
from farface.app.workbench import open_workbench
from farface.files.bench_folder import Bench
from farface.journal import Journal, audit
from farface.journal.digest import record_sha256
from farface.journal.schema import FileRow, RecordRow
from farface.kernel import Missing
from journal_workload import Acknowledged, Writers, make_archives, missing, write_on
from test_journal_exchange import TABLE

pytestmark = pytest.mark.skipif(os.name != "posix", reason="kill -9 and fork are POSIX matters")
Result = TypeVar("Result")
AT = "2025-03-01T09:30:00+00:00"
# A bench is looked through after each kill, so it is made anew before it grows long.
KILLS_A_BENCH = 25
# A writer is killed after up to so many acknowledgements, and as long as most things take it.
MOST_TOLD = 8
MOST_S = 0.06


def _kill_often(folder: Path, kills: int, seed: int) -> tuple[int, int]:
    """Kill a writer again and again; give how much was acknowledged, and how many records there are."""
    draw = random.Random(seed)
    make_archives(folder, KILLS_A_BENCH // 3)
    told = kept = 0
    with Writers(folder) as writers:
        for start in range(0, kills, KILLS_A_BENCH):
            bench = demo_bench(folder / str(start)).folder
            acknowledged: list[Acknowledged] = []
            for kill in range(start, min(start + KILLS_A_BENCH, kills)):
                writer = writers.start(bench, seed + kill)
                writer.wait(draw.randrange(MOST_TOLD))
                time.sleep(draw.uniform(0.0, MOST_S))
                acknowledged += writer.kill()
                with open_journal(bench) as opened:
                    assert list(missing(opened, acknowledged)) == [], f"kill {kill}"
                    count = opened.journal.count()
            told += len(acknowledged)
            kept += count
            shutil.rmtree(bench)
    return told, kept


def test_a_killed_writer_leaves_a_sound_journal(tmp_path: Path) -> None:
    told, _ = _kill_often(tmp_path, 12, seed=1)
    assert told > 12


@pytest.mark.slow
def test_three_hundred_kills_at_random_moments(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    kills = 300
    told, kept = _kill_often(tmp_path, kills, seed=1000)
    with capsys.disabled():
        print(
            f"\nkill -9: {kills} kills, {told} acknowledgements, all of them there; {kept} records, all whole"
        )
    assert told > kills


def _crowd(folder: Path, count: int, most_s: float) -> int:
    """Let writers type at once while one reader looks through; give how many records were acknowledged."""
    bench = demo_bench(folder / "bench").folder
    with open_journal(bench):
        pass  # made before the clock starts
    kinds = [f"writer-{number}" for number in range(count)]
    with Writers(folder) as writers:
        crowd = [
            writers.start(bench, seed, kind=kind, most_s=most_s, only="type")
            for seed, kind in enumerate(kinds)
        ]
        until_s = time.monotonic() + most_s
        while time.monotonic() < until_s:
            with open_journal(bench) as opened:
                assert [one.sentence for one in audit(opened.journal) if one.weight == "fault"] == []
            time.sleep(most_s / 20)
        acknowledged = {kind: writer.finish() for kind, writer in zip(kinds, crowd, strict=True)}
    with open_journal(bench) as opened:
        for kind, told in acknowledged.items():
            assert [record.id for record in opened.journal.all(kind)] == [one.name for one in told]
        assert opened.journal.count() == sum(map(len, acknowledged.values())) > count
        assert list(missing(opened, [])) == []
        return opened.journal.count()


def test_three_writers_and_a_reader(tmp_path: Path) -> None:
    _crowd(tmp_path, 3, 1.5)


@pytest.mark.slow
def test_eight_writers_for_a_minute(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    seconds = 60.0
    count = _crowd(tmp_path, 8, seconds)
    with capsys.disabled():
        print(f"\n8 writers, {seconds:.0f} s: {count} acknowledged records, each there once")


def test_what_is_typed_while_a_fit_runs_is_kept_and_no_part_of_it(tmp_path: Path) -> None:
    places = demo_bench(tmp_path / "bench")
    table = tmp_path / "P1.csv"
    table.write_text(TABLE)
    with Writers(tmp_path) as writers, open_workbench(places.folder) as work:
        take_outcomes(work, table)
        phone = writers.start(places.folder, 1, kind="note", most_s=3.0, only="type")
        outcomes_typed = 0

        def tell(what: str, share: float) -> None:
            nonlocal outcomes_typed
            if outcomes_typed < 3:
                take_outcomes(work, table)
                outcomes_typed += 1

        learn_from_bench(work, steps=50, tell=tell)
        typed = phone.finish()
        fit = work.journal.latest("fit")
        assert fit is not None
        assert outcomes_typed > 0
        first = work.journal.all("outcomes")[0]
        assert [item.record for item in fit.inputs if item.role == "outcomes"] == [first.id]
        assert len(work.journal.all("outcomes")) == 1 + outcomes_typed
        assert [record.id for record in work.journal.all("note")] == [one.name for one in typed]
        assert [one for one in audit(work.journal) if one.weight == "fault"] == []


@contextmanager
def _small_disk(folder: Path, kilobytes: int) -> Iterator[Path]:
    """Mount a small file system in memory; skip where this machine does not let us."""
    folder.mkdir()
    command = ["mount", "-t", "tmpfs", "-o", f"size={kilobytes}k", "none", str(folder)]
    if not shutil.which("mount") or subprocess.run(command, check=False, capture_output=True).returncode:
        pytest.skip("this machine lets no small file system be mounted")
    try:
        yield folder
    finally:
        subprocess.run(["umount", "-l", str(folder)], check=True)


@pytest.mark.parametrize("kilobytes", [900, 2500])
def test_a_disk_that_fills_up_keeps_what_was_acknowledged(tmp_path: Path, kilobytes: int) -> None:
    with _small_disk(tmp_path / "disk", kilobytes) as disk:
        ballast = disk / "ballast"
        ballast.write_bytes(bytes(200_000))
        bench = demo_bench(disk / "bench").folder
        acknowledged: list[Acknowledged] = []
        draw = random.Random(kilobytes)
        with open_journal(bench) as opened:
            with pytest.raises(Missing, match=r"[Tt]he disk is full|No space left|disk I/O"):
                _until_it_fails(opened, draw, acknowledged)
            assert list(missing(opened, acknowledged)) == []
            ballast.unlink()
            record = opened.journal.add(kind="rig", title="after", body={}, at_utc=AT)
        with open_journal(bench) as opened:
            assert opened.journal.get(record.id) == record
            assert list(missing(opened, acknowledged)) == []
        assert acknowledged


def _until_it_fails(opened: OpenJournal, draw: random.Random, acknowledged: list[Acknowledged]) -> None:
    for _ in range(10_000):
        write_on(opened, draw, acknowledged.append)


# Every flush to the disk takes as long as on a poor memory stick.
SLOW_DISK = """
#define _GNU_SOURCE
#include <dlfcn.h>
#include <unistd.h>
static int slowly(const char *name, int file) {
    int (*real)(int) = (int (*)(int)) dlsym(RTLD_NEXT, name);
    usleep(150000);
    return real(file);
}
int fsync(int file) { return slowly("fsync", file); }
int fdatasync(int file) { return slowly("fdatasync", file); }
"""


@pytest.mark.slow
def test_a_slow_disk_only_makes_writers_wait(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    compiler = shutil.which("cc")
    if compiler is None or sys.platform != "linux":
        pytest.skip("no C compiler to make the disk slow with")
    source, library = tmp_path / "slow.c", tmp_path / "slow.so"
    source.write_text(SLOW_DISK)
    subprocess.run([compiler, "-shared", "-fPIC", "-o", library, source, "-ldl"], check=True)
    bench = demo_bench(tmp_path / "bench").folder
    with open_journal(bench):
        pass
    monkeypatch.setenv("LD_PRELOAD", str(library))
    started_s = time.monotonic()
    with Writers(tmp_path) as writers:
        monkeypatch.delenv("LD_PRELOAD")
        crowd = [
            writers.start(bench, number, kind=f"{number}", most_s=4.0, only=only)
            for number, only in enumerate(("type", "type", ""))
        ]
        acknowledged = [one for writer in crowd for one in writer.finish()]
    took_s = time.monotonic() - started_s
    with open_journal(bench) as opened:
        assert list(missing(opened, acknowledged)) == []
        # The delay is real: a commit is at least one flush.
        assert 3 <= opened.journal.count() <= took_s / 0.15


@pytest.mark.slow
def test_a_hundred_thousand_outcomes_and_a_thousand_films(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "journal.sqlite"
    Journal.open(path).close()
    _fill(path, records=100_000, films=1_000)
    took_s = _timed(path, demo_bench(tmp_path / "bench"))
    with capsys.disabled():
        print("\n1e5 outcomes, 1e3 films:", *(f"{what} {1e3 * s:.1f} ms;" for what, s in took_s.items()))
    assert took_s.pop("opening") < 1.0
    assert all(s < 0.2 for s in took_s.values())


def _fill(path: Path, *, records: int, films: int) -> None:
    """Write rows past the rules of `add`, a transaction for all, for speed."""
    body = {"data": {"outcomes": [{"cell": "A1", "depth_m": 1e-5, "note": "typed"}]}}
    usual = {
        "kind": "outcomes",
        "at_utc": AT,
        "program_version": "0.1.0",
        "seed": 1,
        "body": body,
        "inputs": [],
    }
    stands = {"inputs": [], "supersedes": None, "reason": "", "withdrawn": False}
    rows = []
    for number in range(1, records + 1):
        said = {"id": f"{number:032x}", "title": f"Outcomes of P{number // 36}"} | usual | stands
        rows.append(said | {"number": number, "sha256": record_sha256(said)})
    film = {"bytes": 10**9, "kind": "film", "at_utc": AT}
    with Journal.open(path) as journal, journal.writing() as session:
        session.execute(insert(RecordRow), rows)
        session.execute(
            insert(FileRow), [film | {"sha256": f"{one:064x}", "name": f"{one}.mp4"} for one in range(films)]
        )


def _timed(path: Path, places: Bench) -> dict[str, float]:
    """Time opening and each way of listing, the median of three."""
    took_s: dict[str, list[float]] = {}

    def timed(name: str, ask: Callable[[], Result]) -> Result:
        started_s = time.perf_counter()
        result = ask()
        took_s.setdefault(name, []).append(time.perf_counter() - started_s)
        return result

    for _ in range(3):
        with timed("opening", lambda: Journal.open(path)) as journal:
            opened = OpenJournal(places=places, journal=journal)
            timed("the last", partial(list_records, opened))
            timed("an older page", partial(list_records, opened, kinds=("outcomes",), before=50_000))
            timed("a kind without records", partial(list_records, opened, kinds=("fit",)))
            timed("the films", partial(list_files, opened))
            timed("what stands last", partial(journal.latest, "outcomes"))
    return {name: sorted(rounds)[1] for name, rounds in took_s.items()}
