"""Measure how long the explanation of one setting takes, once warm."""

import statistics
import time

import numpy as np

from benchmarks.bench import BENCH, SETTING
from benchmarks.row import Row, row
from farface.etch.explain import explain
from farface.etch.unknowns import draw_prior

ROUNDS = 15
DRAWS = 240


def measure() -> Row:
    """Explain one setting under as many draws as the commands use."""
    draws = draw_prior(BENCH, DRAWS, np.random.default_rng(1))
    explain(BENCH, SETTING, draws)
    taken_s = []
    for _ in range(ROUNDS):
        start_s = time.perf_counter()
        explain(BENCH, SETTING, draws)
        taken_s.append(time.perf_counter() - start_s)
    median_ms = 1e3 * statistics.median(taken_s)
    return row(name="explain", value=median_ms, unit="ms", ratio=median_ms, goal=("at most", 20.0))
