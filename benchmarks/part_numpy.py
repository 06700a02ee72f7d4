"""Measure firing a part pulse by pulse against the same map step as a loop over pulses in numpy."""

import statistics
import time

import numpy as np

from benchmarks import part
from benchmarks.bench import BENCH
from benchmarks.row import Row, row
from farface.etch.unknowns import unknowns
from farface.part.pulse_stamp import tile_width
from farface.part.run import CELLS_A_SPOT

FEW = 4_000
ROUNDS = 3


def measure() -> Row:
    """Fire a hatch on one thread and, in turn, let numpy etch as many cells for a few pulses."""
    part.fired()
    pairs = [(_fired_hz(), numpy_hz()) for _ in range(ROUNDS)]
    ours_hz, loop_hz = (statistics.median(rates) for rates in zip(*pairs, strict=True))
    return row(
        name="part_numpy", value=ours_hz, unit="pulses/s", peer="the map step alone as a numpy loop",
        ratio=ours_hz / loop_hz, goal=("at least", 20.0),
    )  # fmt: skip


def _fired_hz() -> float:
    start_s = time.process_time()
    part.fired()
    return part.PULSES / (time.process_time() - start_s)


def numpy_hz() -> float:
    """Return how many stamps a second numpy etches, heat and cavities left out."""
    width = tile_width(CELLS_A_SPOT)
    at = (np.arange(width) - 0.5 * (width - 1)) / CELLS_A_SPOT
    share = np.exp(-2.0 * (at**2 + at[:, None] ** 2))
    deposit, skin, depth_m = (np.zeros((700, 700)) for _ in range(3))
    deposit += 0.05
    wear_m, threshold_j_per_m2 = (next(u.median for u in unknowns(BENCH) if u.name == name)
                                  for name in ("wear length", "removal threshold"))  # fmt: skip
    start_s = time.process_time()
    for n in range(FEW):
        left, bottom = 6 * n % 670, 6 * n // 670 % 670
        here = (slice(bottom, bottom + width), slice(left, left + width))
        absorbed = 3e5 * share * -np.expm1(-deposit[here])
        removed = 1e-11 * np.maximum(absorbed - threshold_j_per_m2, 0.0)
        kept = np.exp(-removed / wear_m)
        deposit[here] = (deposit[here] + 5e-12 * absorbed**2 * (1.0 - skin[here])) * kept
        skin[here] = skin[here] * kept + 0.007 * share * (1.0 - skin[here])
        depth_m[here] += removed
    return FEW / (time.process_time() - start_s)
