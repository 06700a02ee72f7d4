"""Read films on a cluster of this machine's own processes, kill a worker, and expect the very same."""

import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from demo_bench import demo_bench
from farface.app.crew import open_crew
from farface.app.film_reading import start_reading
from farface.app.film_scale import FilmTyped
from farface.app.footage_many import take_films
from farface.app.settings import Typed
from farface.app.workbench import open_workbench
from farface.files.film import open_film
from farface.files.film_write import write_film
from farface.footage.drawn import FilmTruth, TrueBubble, draw_film
from farface.kernel import Malformed, Missing
from farface.records import FilmScale

SCALE = FilmScale(frame_hz=30_000.0, exposure_s=12e-6, pixel_m=10e-6, face_row_px=30.0)
FRAMES = 3000
TRUTH = FilmTruth(
    scale=SCALE, frames=FRAMES, width_px=96, height_px=80, noise_grey=2.0,
    bubbles=tuple(
        TrueBubble(start_s=(3 + 9 * k) / 3e4, along_m=(20 + 50 * (k % 2)) * 1e-5, below_m=2e-4,
                   radius_max_m=1.2e-4, life_s=1.7e-4)
        for k in range(FRAMES // 9)
    ),
)  # fmt: skip
LONGEST_S = 120.0


@pytest.fixture(scope="module")
def films(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    folder = tmp_path_factory.mktemp("films")
    drawn = draw_film(TRUTH, np.random.default_rng(3))
    np.save(folder / "one.npy", drawn)
    write_film(folder / "two.mp4", drawn[:1500], 25.0, quality="near")
    return folder / "one.npy", folder / "two.mp4"


@pytest.fixture
def cluster(tmp_path: Path) -> Iterator[Any]:
    distributed = pytest.importorskip("distributed", reason="the extra farface[cluster] is not installed")
    with distributed.LocalCluster(
        n_workers=2, threads_per_worker=1, dashboard_address=None, local_directory=str(tmp_path)
    ) as made:
        yield made


def _kill_one_at_work(cluster: Any) -> int:
    """Kill the process of a worker that holds finished work and has more before it; return its number."""
    ends_s = time.monotonic() + LONGEST_S
    while time.monotonic() < ends_s:
        for worker in cluster.scheduler.workers.values():
            if worker.processing and len(worker.has_what) > 1:
                nanny = next(n for n in cluster.workers.values() if n.worker_address == worker.address)
                nanny.process.process.kill()
                return int(nanny.process.pid)
        time.sleep(0.01)
    raise AssertionError("no worker was ever at work")


@pytest.mark.slow
@pytest.mark.exact
def test_killing_a_worker_in_mid_run_changes_nothing(films: tuple[Path, Path], cluster: Any) -> None:
    opened = [open_film(path) for path in films]
    with open_crew(None) as crew:
        here = [start_reading(crew, film, SCALE).events() for film in opened]
    with open_crew(cluster.scheduler_address) as crew:
        readers = [start_reading(crew, film, SCALE) for film in opened * 2]
        _kill_one_at_work(cluster)
        there = [reader.events() for reader in readers]
    assert there == here * 2
    assert len(here[0].reading.bubbles) == len(TRUTH.bubbles)


@pytest.mark.slow
def test_a_bench_reads_many_films_on_a_cluster_as_on_this_machine(
    films: tuple[Path, Path], cluster: Any, tmp_path: Path
) -> None:
    bench = demo_bench(tmp_path / "bench")
    paths = [*films, tmp_path / "gone.mp4"]
    typed = Typed(energy="300 uJ", rate="40 kHz")
    with open_workbench(bench.folder) as work:
        here, there = (
            take_films(work, paths, FilmTyped(face="30"), typed, plate="P1", workers=workers)
            for workers in (None, cluster.scheduler_address)
        )
        assert len(tuple(work.journal.all("footage"))) == 4
    assert here.data == there.data
    assert [row[:2] for row in here.tables[0].rows] == [("one.npy", "3000"), ("two.mp4", "1500")]
    assert "gone.mp4" in here.data["refused"]
    assert any(said.startswith("Not read: there is no film gone.mp4") for said in here.sentences)


def test_an_address_where_nobody_answers_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    pytest.importorskip("distributed", reason="the extra farface[cluster] is not installed")
    monkeypatch.setattr("farface.app.crew.ANSWER_S", "1s")
    for address in ("tcp://127.0.0.1:1", "nonsense", "ftp://127.0.0.1:1"):
        with pytest.raises(Missing, match="no scheduler answers"), open_crew(address):
            pass


def test_without_the_library_a_cluster_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(__import__("sys").modules, "distributed", None)
    with pytest.raises(Missing, match="farface\\[cluster\\]"), open_crew("tcp://127.0.0.1:8786"):
        pass


def test_films_of_one_name_are_refused(tmp_path: Path) -> None:
    bench = demo_bench(tmp_path / "bench")
    with open_workbench(bench.folder) as work, pytest.raises(Malformed, match="two films are called a"):
        take_films(work, [Path("x/a.mp4"), Path("y/a.avi")], FilmTyped(), Typed(), plate="P1")
