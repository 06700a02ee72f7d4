"""Choose the setting that serves a wanted depth, among those the rig can run."""

from typing import Final

import numpy as np

from farface.app.draws import Draws
from farface.app.settings import Typed, setting_of
from farface.app.workbench import Workbench
from farface.coupon.design import factorial
from farface.etch.bench import EtchBench
from farface.kernel import NotConverged
from farface.learn.goal import Goal, best_setting
from farface.learn.plates import on_next_plate
from farface.optics.energy import pulse_energy_available_j
from farface.records import Setting

ENERGIES: Final = 20
PULSES: Final = (1, 2, 3, 4, 5, 6, 8, 10, 12, 16, 20)
LEAST_ENERGY_SHARE: Final = 0.08
# More passes than this for one depth are no plan.
PASSES_AT_MOST: Final = 1500


def candidates(work: Workbench, typed: Typed) -> tuple[Setting, ...]:
    """List settings over energy and pulses per point around what was typed, up to what the laser gives."""
    energies, pulses = candidate_levels(work, typed)
    return factorial(setting_of(work.rig, typed), {"pulse_energy_j": energies, "pulses_per_point": pulses})


def candidate_levels(work: Workbench, typed: Typed) -> tuple[list[float], list[float]]:
    """List the pulse energies in joules and the pulses per point that are weighed."""
    available_j = pulse_energy_available_j(work.rig.laser, setting_of(work.rig, typed).rate_hz)
    energies: list[float] = np.geomspace(LEAST_ENERGY_SHARE * available_j, available_j, ENERGIES).tolist()
    return energies, [float(n) for n in PULSES]


def setting_for_depth(
    work: Workbench, etch: EtchBench, draws: Draws, typed: Typed, *, depth_m: float, risk: float
) -> Setting:
    """Return the fastest setting that etches steadily within the risk; `NotConverged` says why none does."""
    choice = best_setting(
        etch,
        on_next_plate(draws.values, work.rng()),
        candidates(work, typed),
        accepted_risk=risk,
        goal=Goal(depth_m=depth_m, passes_at_most=PASSES_AT_MOST),
    )
    if choice.prediction is None:
        raise NotConverged(choice.sentence)
    return choice.prediction.setting
