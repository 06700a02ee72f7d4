"""Measure how long finding the patches in raw frames takes, against reading every byte of them once."""

import statistics
import time
from collections.abc import Callable

import numpy as np
from numba import njit
from numpy.typing import NDArray

from benchmarks.drawn_film import SCALE, film
from benchmarks.row import Row, row
from farface.footage.background import learn_background
from farface.footage.components import find_patches

ROUNDS = 15


def measure() -> Row:
    """Find patches on one thread and, in turn, add up all bytes."""
    frames = film()
    background = learn_background(frames[:64], SCALE)
    find_patches(frames, background), _add_up(frames)  # compiles
    ours_s, once_s = [], []
    for _ in range(ROUNDS):
        ours_s.append(_taken_s(lambda: find_patches(frames, background)))
        once_s.append(_taken_s(lambda: _add_up(frames)))
    return row(
        name="masks",
        value=len(frames) / statistics.median(ours_s),
        unit="frames/s",
        peer="reading once",
        ratio=statistics.median(a / b for a, b in zip(ours_s, once_s, strict=True)),
        goal=("at most", 3.5),
    )


@njit(nogil=True)
def _add_up(frames: NDArray[np.uint8]) -> int:
    total = 0
    for level in frames.reshape(-1):
        total += int(level)
    return total


def _taken_s(work: Callable[[], object]) -> float:
    started_s = time.process_time()
    work()
    return time.process_time() - started_s
