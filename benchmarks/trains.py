"""Measure how fast the heat of an irregular train of pulses is added up at one spot."""

import statistics
import time

import numpy as np

from benchmarks.row import Row, row
from farface.heat.halfspace import Pair
from farface.heat.reference import Pulse, Reference
from farface.heat.reference_grid import spot_grid
from farface.heat.reference_medium import constant_medium
from farface.heat.reference_stack import Stack
from farface.heat.train import compress, rise_before_pulses
from farface.materials import glass, liquid

PULSES = 1_000_000
MARCHED = 4
ROUNDS = 3
SPOT_M = 20e-6
ABSORPTION_PER_M = 1e3
GAP_S = 25e-6


def measure() -> Row:
    """Add up a train by recursion and, in turn, march a short one through the reference's volumes.

    The grid of the reference is its coarsest that is tested, 40 cells; the value is pulses a second.
    """
    pairs = [(recursion_hz(), _marched_hz()) for _ in range(ROUNDS)]
    ours_hz, marched_hz = (statistics.median(rates) for rates in zip(*pairs, strict=True))
    return row(
        name="trains", value=ours_hz, unit="pulses/s", peer="marching the finite-volume reference",
        ratio=ours_hz / marched_hz, goal=("at least", 100.0),
    )  # fmt: skip


def recursion_hz() -> float:
    """Return how many irregular pulses a second the recursion adds up, compiled already."""
    water, pane = liquid("water"), glass("soda_lime_slide")
    pair = Pair(
        diffusivity_ratio=water.diffusivity_m2_per_s / pane.diffusivity_m2_per_s,
        conductivity_ratio=water.conductivity_w_per_m_k / pane.conductivity_w_per_m_k,
    )
    gaps_s = np.random.default_rng(1).uniform(0.5, 1.5, PULSES) * GAP_S
    pulse_tau = np.cumsum(gaps_s) * water.diffusivity_m2_per_s / SPOT_M**2
    response = compress(pair, alpha_w=ABSORPTION_PER_M * SPOT_M, zeta=1.2)
    heating_k = np.full(PULSES, 50.0)
    rise_before_pulses(response, pulse_tau=pulse_tau[:10], heating_k=heating_k[:10])
    start_s = time.process_time()
    rise_before_pulses(response, pulse_tau=pulse_tau, heating_k=heating_k)
    return PULSES / (time.process_time() - start_s)


def _marched_hz() -> float:
    """March a few pulses and return how many a second."""
    water, pane = liquid("water"), glass("soda_lime_slide")
    grid = spot_grid(radius_m=SPOT_M, finest_m=4e-8, liquid_m=4e-3, glass_m=2e-3, wide_m=1e-3, cells=40)
    still = constant_medium(
        capacity_j_per_m3_k=water.density_kg_per_m3 * water.heat_capacity_j_per_kg_k,
        conductivity_w_per_m_k=water.conductivity_w_per_m_k,
    )
    plate = constant_medium(
        capacity_j_per_m3_k=pane.density_kg_per_m3 * pane.heat_capacity_j_per_kg_k,
        conductivity_w_per_m_k=pane.conductivity_w_per_m_k,
    )
    reference = Reference(
        stack=Stack(grid=grid, liquid=still, glass=plate), radius_m=SPOT_M,
        absorption_per_m=ABSORPTION_PER_M, first_step_s=2e-8,
    )  # fmt: skip
    pulses = tuple(Pulse(time_s=GAP_S * n, energy_j=1e-6) for n in range(MARCHED))
    start_s = time.process_time()
    reference.march(pulses=pulses, times_s=np.array([GAP_S * MARCHED]))
    return MARCHED / (time.process_time() - start_s)
