"""Measure how many frames a second of a compressed film are read, against decoding it and no more."""

import statistics
import tempfile
import time
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path
from typing import Any

import av
import numpy as np

from benchmarks.drawn_film import SCALE, film
from benchmarks.row import Row, row
from farface.app.crew import open_crew
from farface.app.film_reading import start_reading
from farface.files.film import open_film
from farface.files.film_write import write_film

ROUNDS = 7
REPEATS = 8  # of the drawn frames: a film's beginning costs more than its rest


def measure_h264() -> Row:
    """Read an H.264 film from a file and, in turn, only decode it on all cores."""
    return _measure("film", "drawn.mp4", lambda path, frames: write_film(path, frames, 25.0, quality="near"))


def measure_mjpeg() -> Row:
    """Read an MJPEG film from a file and, in turn, only decode it on all cores."""
    return _measure("film_mjpeg", "drawn.avi", _write_mjpeg)


def _measure(name: str, file: str, write: Callable[[Path, np.ndarray], None]) -> Row:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / file
        write(path, np.concatenate([film()] * REPEATS))
        _read(path)  # compiles, and brings the file into memory
        ours_s, decode_s = [], []
        for _ in range(ROUNDS):
            ours_s.append(_taken_s(lambda: _read(path)))
            decode_s.append(_taken_s(lambda: _decode(path)))
        count = _decode(path)
    return row(
        name=name,
        value=count / statistics.median(ours_s),
        unit="frames/s",
        peer="decoding only",
        ratio=statistics.median(b / a for a, b in zip(ours_s, decode_s, strict=True)),
        goal=("at least", 0.9),
    )


def _read(path: Path) -> object:
    with open_crew(None) as crew:
        return start_reading(crew, open_film(path), SCALE).events()


def _decode(path: Path) -> int:
    """Decode with the library alone, as fast as it goes."""
    with av.open(str(path)) as container:
        stream: Any = container.streams.video[0]
        stream.thread_type = "AUTO"
        return sum(1 for _ in container.decode(stream))


def _write_mjpeg(path: Path, frames: np.ndarray) -> None:
    with av.open(str(path), "w") as container:
        stream: Any = container.add_stream("mjpeg", rate=Fraction(25), options={"q:v": "3"})
        stream.width, stream.height, stream.pix_fmt = frames.shape[2], frames.shape[1], "yuvj420p"
        for levels in frames:
            container.mux(stream.encode(av.VideoFrame.from_ndarray(levels, format="gray")))
        container.mux(stream.encode(None))


def _taken_s(work: Callable[[], object]) -> float:
    started_s = time.perf_counter()
    work()
    return time.perf_counter() - started_s
