"""Choose the next cells and a setting for the goal: farface's way, a general optimiser's, and blind ones.

The blind ways (random, a Sobol row) choose cells without looking, and rest their setting on the optimiser's
two Gaussian processes (scikit-learn): one of log depth per pass, one of whether a cell is lost.
"""

import math
import warnings
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from benchmarks.bench import BENCH
from benchmarks.loop_bench import ACCEPTED_RISK, BASE, CANDIDATES, GOAL, LOST
from farface.coupon.design import spread
from farface.learn.film import point_s
from farface.learn.next_cells import next_plate
from farface.learn.plates import on_next_plate
from farface.learn.posterior import fit
from farface.records import Outcome, Setting

ROUND: Final = 6
CELL_RISK: Final = 0.15
DRAWS, WALKERS, STEPS = 240, 256, 10
# Cells without a depth worth reading count as this deep a pass: so the optimiser sees where depth begins.
SHALLOW_M: Final = {"nothing": 5e-9, "frosted": 5e-8}


@dataclass(frozen=True, slots=True, kw_only=True)
class Advice:
    """Hold the cells to run next, and the setting recommended for the goal, if any is."""

    cells: tuple[Setting, ...]
    setting: Setting | None


Way = Callable[[Sequence[Outcome], np.random.Generator], Advice]


def farface_way(outcomes: Sequence[Outcome], rng: np.random.Generator) -> Advice:
    """Fit, propose within the risk accepted in a cell, and choose the best setting for the goal so far."""
    posterior = fit(BENCH, outcomes, [], rng, walkers=WALKERS, steps=STEPS)
    thinned = np.linspace(0, len(posterior.draws) - 1, DRAWS).round().astype(int)
    draws = on_next_plate(posterior.draws[thinned], rng)
    plate = next_plate(
        BENCH, draws, CANDIDATES, count=ROUND, accepted_risk=CELL_RISK, goal=GOAL, goal_risk=ACCEPTED_RISK
    )
    found = plate.choice.prediction
    return Advice(
        # Where no cell is within the risk, the gentlest.
        cells=tuple(p.setting for p in plate.proposals) or CANDIDATES[:ROUND],
        setting=None if found is None else found.setting,
    )


def random_way(outcomes: Sequence[Outcome], rng: np.random.Generator) -> Advice:
    """Draw cells among the candidates."""
    chosen = rng.choice(len(CANDIDATES), ROUND, replace=False)
    return Advice(cells=tuple(CANDIDATES[i] for i in chosen), setting=_recommended(_surfaces(outcomes)))


def sobol_way(outcomes: Sequence[Outcome], rng: np.random.Generator) -> Advice:
    """Spread each plate's cells by a freshly shifted Sobol row."""
    return Advice(cells=spread_cells(ROUND, rng), setting=_recommended(_surfaces(outcomes)))


def spread_cells(count: int, rng: np.random.Generator) -> tuple[Setting, ...]:
    """Spread cells over all that candidates span."""
    ranges: dict[str, tuple[float, float]] = {
        "pulse_energy_j": (CANDIDATES[0].pulse_energy_j, CANDIDATES[-1].pulse_energy_j),
        "pulses_per_point": (1.0, 20.0),
    }
    return spread(BASE, ranges, trials=count, how="sobol", rng=rng)


@dataclass(frozen=True, slots=True, kw_only=True)
class Surfaces:
    """Hold what the two Gaussian processes say of every candidate, each of shape (candidate,)."""

    log_depth: NDArray[np.float64]
    log_width: NDArray[np.float64]
    lost_share: NDArray[np.float64]


_KNOBS: Final = np.log([(s.pulse_energy_j, s.pulses_per_point) for s in CANDIDATES])
_PACE: Final = -np.log([point_s(BENCH, s) for s in CANDIDATES])
_SPAN: Final = np.ptp(_KNOBS, axis=0)


def gaussian_process_way(outcomes: Sequence[Outcome], rng: np.random.Generator) -> Advice:
    """Maximise expected improvement of removal per second, among cells that it expects to lose seldom enough.

    Cells of a plate are chosen one by one, each believed to turn out as expected (kriging believer).
    """
    from scipy.stats import norm

    believed: list[tuple[Setting, float, float]] = []
    chosen: list[Setting] = []
    for _ in range(ROUND):
        now = _surfaces(outcomes, believed)
        worth, tried = now.log_depth + _PACE, _tried(outcomes)
        best = max((worth[i] for i in tried), default=float(worth.min()))
        z = (worth - best) / now.log_width
        improvement = now.log_width * (z * norm.cdf(z) + norm.pdf(z))
        allowed = np.array([setting not in chosen for setting in CANDIDATES]) & (now.lost_share <= CELL_RISK)
        at = int(np.argmax(np.where(allowed, improvement * np.clip(1.0 - now.lost_share, 0.0, 1.0), -1.0)))
        chosen.append(CANDIDATES[at])
        believed.append((CANDIDATES[at], float(now.log_depth[at]), float(now.lost_share[at])))
    return Advice(cells=tuple(chosen), setting=_recommended(_surfaces(outcomes)))


def _tried(outcomes: Sequence[Outcome]) -> list[int]:
    """Find the candidates nearest to cells that were not lost."""
    kept = [o.setting for o in outcomes if o.seen not in LOST]
    return [int(np.argmin((((_KNOBS - _knobs(s)) / _SPAN) ** 2).sum(axis=1))) for s in kept]


def _knobs(setting: Setting) -> NDArray[np.float64]:
    return np.log([setting.pulse_energy_j, setting.pulses_per_point])


def _surfaces(outcomes: Sequence[Outcome], believed: Sequence[tuple[Setting, float, float]] = ()) -> Surfaces:
    depths = [(o.setting, math.log(depth)) for o in outcomes if (depth := _depth_per_pass_m(o)) is not None]
    losses = [(o.setting, float(o.seen in LOST)) for o in outcomes]
    depths += [(setting, log_depth) for setting, log_depth, _ in believed]
    losses += [(setting, lost) for setting, _, lost in believed]
    log_depth, width = _regressed(depths)
    lost_share, _ = _regressed(losses)
    return Surfaces(log_depth=log_depth, log_width=np.maximum(width, 1e-3), lost_share=lost_share)


def _depth_per_pass_m(o: Outcome) -> float | None:
    """Take a reading, or next to nothing where there was nothing to read; lost and felt cells say none."""
    if o.seen in SHALLOW_M:
        return SHALLOW_M[o.seen]
    if o.seen in LOST or o.depth is None or o.depth.method == "feel_at_least":
        return None
    return max(o.depth.depth_m / o.setting.passes, SHALLOW_M["frosted"])


def _regressed(rows: Sequence[tuple[Setting, float]]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    from sklearn.exceptions import ConvergenceWarning
    from sklearn.gaussian_process import GaussianProcessRegressor
    from sklearn.gaussian_process.kernels import RBF, ConstantKernel, WhiteKernel

    kernel: Any = ConstantKernel(1.0, (0.3, 20.0)) * RBF((0.3, 0.3), (0.1, 1.0)) + WhiteKernel(
        0.02, (1e-3, 0.5)
    )
    process = GaussianProcessRegressor(kernel, normalize_y=True, random_state=1)
    low = _KNOBS.min(axis=0)
    with warnings.catch_warnings():
        # A scale may end at its bound: with few cells that is as it should be.
        warnings.simplefilter("ignore", ConvergenceWarning)
        process.fit((np.array([_knobs(s) for s, _ in rows]) - low) / _SPAN, np.array([y for _, y in rows]))
    mean, width = process.predict((_KNOBS - low) / _SPAN, return_std=True)
    return np.asarray(mean), np.asarray(width)


def _recommended(known: Surfaces) -> Setting | None:
    """Choose what removes most a second among what should be deep in time and hardly ever lost.

    However little the depth is known: a wrong recommendation costs nothing in this race.
    """
    passes = np.ceil(GOAL.depth_m / np.exp(known.log_depth))
    fits = (passes <= GOAL.passes_at_most) & (known.lost_share < ACCEPTED_RISK)
    if not fits.any():
        return None
    at = int(np.argmax(np.where(fits, known.log_depth + _PACE, -np.inf)))
    return replace(CANDIDATES[at], passes=int(passes[at]))


WAYS: Final[dict[str, Way]] = {
    "farface next": farface_way,
    "random": random_way,
    "Sobol row": sobol_way,
    "Gaussian process": gaussian_process_way,
}
