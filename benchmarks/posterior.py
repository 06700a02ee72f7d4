"""Measure what the sampler adds to the likelihood it asks, in a fit of nine cells."""

import time
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from benchmarks.bench import BENCH, SETTING
from benchmarks.row import Row, row
from farface.etch.unknowns import UNKNOWN_COUNT
from farface.learn.likelihood import log_likelihood
from farface.learn.plates import by_plate
from farface.learn.posterior import unfold
from farface.learn.seen import misreading
from farface.learn.tempering import WALKERS_PER_DIMENSION, sample
from farface.records import Outcome, Seen

STEPS = 20
SEEN: tuple[Seen, ...] = ("nothing", "steady", "runaway")


def measure() -> Row:
    """Fit three energies by three counts of pulses, and ask the same places of the likelihood again."""
    outcomes = tuple(
        Outcome(plate="P1", cell=f"{a}{b}", order=3 * a + b, seen=SEEN[a],
                setting=replace(SETTING, pulse_energy_j=(1 + 2 * a) * 1e-4, pulses_per_point=4 * (1 + b)))
        for a in range(3) for b in range(3)
    )  # fmt: skip
    evidence, misread = by_plate(BENCH, outcomes, ()), misreading()
    asked: list[NDArray[np.float64]] = []

    def value(places: NDArray[np.float64]) -> NDArray[np.float64]:
        asked.append(places)
        return log_likelihood(BENCH, evidence, *unfold(BENCH, places), misread=misread)

    dimensions = UNKNOWN_COUNT + len(evidence)
    walkers = WALKERS_PER_DIMENSION * dimensions
    value(np.zeros((walkers, dimensions)))  # compiled before the clock starts
    asked.clear()
    started_s = time.process_time()
    sample(value, dimensions, np.random.default_rng(1), walkers=walkers, steps=STEPS)
    whole_s = time.process_time() - started_s
    places, started_s = tuple(asked), time.process_time()
    for one in places:
        value(one)
    alone_s = time.process_time() - started_s
    return row(
        name="posterior",
        value=sum(map(len, places)) / whole_s,
        unit="evaluations/s of processor time",
        peer="the likelihood alone",
        ratio=whole_s / alone_s,
        goal=("at most", 1.3),
    )
