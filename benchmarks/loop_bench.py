"""The invented bench on which ways of choosing cells race: plates to run, and a judge of settings."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Final

import numpy as np

from benchmarks.bench import BATH, RIG, SETTING
from farface.coupon.design import factorial, order_trials
from farface.coupon.hidden_truth import DEMO_TRUTH, HiddenTruth
from farface.coupon.layout import CellRoom, lay_out
from farface.coupon.virtual_bench import run_coupon
from farface.learn.goal import Goal
from farface.records import Outcome, Setting

GOAL: Final = Goal(depth_m=40e-6, passes_at_most=60)
ACCEPTED_RISK: Final = 0.05
DEPTH_SHARE: Final = 0.10
TRIED_PASSES: Final = 10
# How many cells the judge fires, a plate each, and the most that may be lost: 2 of 60 is under 5 %.
JUDGED, MOST_LOST = 60, 2
LOST: Final = ("runaway", "broken")
# Benches differ: each of these is a factor e to the normal of this width away from the demo's truth.
SPREADS: Final = {
    "threshold_j_per_m2": 0.2, "gain_half_j_per_m2": 0.2, "ignition_rise_k": 0.05, "seed_m3_per_mol": 0.3,
    "breaking_j_per_m2": 0.15, "removal_m": 0.2,
}  # fmt: skip
BASE: Final = replace(SETTING, passes=TRIED_PASSES)
CANDIDATES: Final = factorial(
    BASE,
    {
        "pulse_energy_j": np.geomspace(60e-6, 750e-6, 20).tolist(),
        "pulses_per_point": [1, 2, 3, 4, 5, 6, 8, 10, 12, 16, 20],
    },
)


def true_bench(seed: int) -> HiddenTruth:
    """Draw a bench unlike the demo's and unlike the model (invented)."""
    rng = np.random.default_rng((seed, 1))
    values = {
        name: getattr(DEMO_TRUTH, name) * float(np.exp(width * rng.standard_normal()))
        for name, width in SPREADS.items()
    }
    return replace(DEMO_TRUTH, **values)


@dataclass(slots=True)
class Race:
    """Hold one bench and all that was run on it so far; every call of ``run`` is a new plate."""

    truth: HiddenTruth
    rng: np.random.Generator
    outcomes: list[Outcome] = field(default_factory=list)
    plates: int = 0

    def run(self, settings: Sequence[Setting]) -> None:
        """Fire a plate of cells and write down what a person would."""
        self.plates += 1
        self.outcomes += _fired(f"P{self.plates}", settings, self.truth, self.rng)

    @property
    def lost(self) -> int:
        """Count the cells that ran away or broke."""
        return sum(o.seen in LOST for o in self.outcomes)


def meets(setting: Setting, truth: HiddenTruth, seed: int) -> bool:
    """Judge a setting by what truly comes of it on 60 plates: its median depth, and how many cells are lost.

    Depths are read without error and classes not misread.
    """
    from farface.coupon.ending import fire_cell
    from farface.coupon.true_conditions import conditions_of

    rng = np.random.default_rng((seed, 2))
    (cell,) = lay_out(
        order_trials([setting], rng=rng), RIG.plate, name="J", invented=True, room=CellRoom(), rng=rng
    ).cells
    depths_m: list[float] = []
    lost = 0
    for _ in range(JUDGED):
        conditions = conditions_of(
            setting, RIG, BATH, truth, progress_share=rng.random(),
            thickness_error_m=truth.thickness_sd_m * rng.standard_normal(),
            scatter=(rng.standard_normal(), rng.standard_normal()),
        )  # fmt: skip
        ending = fire_cell(cell, "square", RIG, truth, conditions, rng)
        lost += ending.seen in LOST
        if lost > MOST_LOST:
            return False
        depths_m.append(float(ending.depths_m[-1]))
    return abs(float(np.median(depths_m)) / GOAL.depth_m - 1.0) <= DEPTH_SHARE


def _fired(
    plate: str, settings: Sequence[Setting], truth: HiddenTruth, rng: np.random.Generator
) -> tuple[Outcome, ...]:
    trials = order_trials(settings, rng=rng)
    coupon = lay_out(trials, RIG.plate, name=plate, invented=True, room=CellRoom(), rng=rng)
    return run_coupon(coupon, RIG, BATH, truth, rng)
