"""Measure how many raw frames a second are read into fitted bubbles, against finding components alone."""

import importlib
import importlib.util
import statistics
import time
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from benchmarks.drawn_film import SCALE, film
from benchmarks.row import Row, row
from farface.footage.background import learn_background
from farface.footage.read import read_events

ROUNDS = 5
REPEATS = 8  # of the drawn frames, end to end, for the reading: a film's beginning costs more than its rest
THREADS = 2


def measure() -> Row:
    """Read frames in memory on two threads; in turn, let the peer list dark components on one."""
    frames = film()
    long = np.concatenate([frames] * REPEATS)
    dark_limit = learn_background(frames[:64], SCALE).dark_limit
    peer, components = _peer()
    read_events(frames, SCALE, "drawn")  # compiles
    ours_hz, peer_hz = [], []
    for _ in range(ROUNDS):
        ours_hz.append(_rate_hz(len(long), lambda: read_events(long, SCALE, "drawn", threads=THREADS)))
        peer_hz.append(_rate_hz(len(frames), lambda: components(frames, dark_limit)))
    return row(
        name="footage",
        value=statistics.median(ours_hz),
        unit="frames/s",
        peer=peer,
        ratio=statistics.median(a / b for a, b in zip(ours_hz, peer_hz, strict=True)),
        goal=("at least", 7.0),
    )


def _rate_hz(count: int, work: Callable[[], object]) -> float:
    started_s = time.perf_counter()
    work()
    return count / (time.perf_counter() - started_s)


Peer = Callable[[NDArray[np.uint8], NDArray[np.uint8]], None]


def _peer() -> tuple[str, Peer]:
    """Take OpenCV where it is installed, else SciPy."""
    if importlib.util.find_spec("cv2") is None:
        return "scipy components", _scipy_components
    importlib.import_module("cv2").setNumThreads(1)
    return "OpenCV components", _opencv_components


def _opencv_components(frames: NDArray[np.uint8], dark_limit: NDArray[np.uint8]) -> None:
    cv2 = importlib.import_module("cv2")
    for frame in frames:
        cv2.connectedComponentsWithStats((frame < dark_limit).view(np.uint8))


def _scipy_components(frames: NDArray[np.uint8], dark_limit: NDArray[np.uint8]) -> None:
    from scipy import ndimage

    for frame in frames:
        labels, count = ndimage.label(frame < dark_limit, structure=np.ones((3, 3)))
        ndimage.center_of_mass(labels, labels, range(1, count + 1))
