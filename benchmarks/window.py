"""Measure how long a whole window map takes."""

import time

import numpy as np

from benchmarks.bench import BENCH, SETTING
from benchmarks.row import Row, row
from farface.etch.unknowns import draw_prior
from farface.etch.window import window

SIDE = 60
DRAWS = 500


def measure() -> Row:
    """Map 60 x 60 settings under 500 draws, compiled already, on the threads that the forecast takes."""
    draws = draw_prior(BENCH, DRAWS, np.random.default_rng(1))
    energies, rates = (np.linspace(*ends, SIDE).tolist() for ends in ((4e-5, 7.5e-4), (20e3, 100e3)))
    window(BENCH, SETTING, draws[:2], x=("energy", energies[:2]), y=("rate", rates[:2]))
    start_s = time.perf_counter()
    window(BENCH, SETTING, draws, x=("energy", energies), y=("rate", rates))
    taken_s = time.perf_counter() - start_s
    return row(name="window", value=taken_s, unit="s", ratio=taken_s, goal=("at most", 5.0))
