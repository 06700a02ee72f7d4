"""Measure how long four plates of 36 cells take to learn from, until every unknown is worth 400 draws."""

import time

import numpy as np

from benchmarks.bench import BATH, BENCH, RIG, SETTING
from benchmarks.row import Row, row
from farface.coupon.design import factorial, order_trials
from farface.coupon.hidden_truth import DEMO_TRUTH
from farface.coupon.layout import CellRoom, lay_out
from farface.coupon.virtual_bench import run_coupon
from farface.learn.posterior import fit
from farface.records import Outcome

PLATES, LEVELS = 4, 6


def four_plates() -> list[Outcome]:
    """Run four plates of the virtual bench (invented data): every energy with every count of pulses."""
    rng = np.random.default_rng(1)
    levels = {
        "pulse_energy_j": np.linspace(90e-6, 750e-6, LEVELS).tolist(),
        "pulses_per_point": [2.0, 4.0, 6.0, 8.0, 10.0, 12.0],
    }
    outcomes: list[Outcome] = []
    for plate in range(PLATES):
        trials = order_trials(factorial(SETTING, levels), rng=rng)
        coupon = lay_out(trials, RIG.plate, name=f"P{plate}", invented=True, room=CellRoom(), rng=rng)
        outcomes += run_coupon(coupon, RIG, BATH, DEMO_TRUTH, rng)
    return outcomes


def measure() -> Row:
    """Fit them on the threads that a fit takes; one that did not converge counts as never done."""
    outcomes = four_plates()
    fit(BENCH, outcomes[:2], [], np.random.default_rng(1), walkers=128, steps=5)  # compiled
    start_s = time.perf_counter()
    posterior = fit(BENCH, outcomes, [], np.random.default_rng(1))
    taken_s = time.perf_counter() - start_s if posterior.diagnostics.converged else float("inf")
    return row(name="learn", value=taken_s, unit="s", ratio=taken_s, goal=("at most", 60.0))
