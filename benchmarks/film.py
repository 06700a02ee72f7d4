"""Measure how many frames a second of a compressed film are read, against decoding it and no more."""

import statistics
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

from benchmarks.drawn_film import SCALE, film
from benchmarks.row import Row, row
from farface.files.film import open_film
from farface.files.film_write import write_film
from farface.footage.read import read_events

ROUNDS = 5
REPEATS = 4
THREADS = 2


def measure() -> Row:
    """Read an H.264 film from a file on two threads and, in turn, only decode it."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "drawn.mp4"
        write_film(path, np.concatenate([film()] * REPEATS), 25.0, quality="near")
        _read(path)  # compiles, and brings the file into memory
        ours_s, decode_s = [], []
        for _ in range(ROUNDS):
            ours_s.append(_taken_s(lambda: _read(path)))
            decode_s.append(_taken_s(lambda: sum(1 for _ in open_film(path).frames())))
        count = sum(1 for _ in open_film(path).frames())
    return row(
        name="film",
        value=count / statistics.median(ours_s),
        unit="frames/s",
        peer="decoding only",
        ratio=statistics.median(b / a for a, b in zip(ours_s, decode_s, strict=True)),
        goal=("at least", 0.9),
    )


def _read(path: Path) -> object:
    return read_events(open_film(path).frames(), SCALE, path.name, threads=THREADS)


def _taken_s(work: Callable[[], object]) -> float:
    started_s = time.perf_counter()
    work()
    return time.perf_counter() - started_s
