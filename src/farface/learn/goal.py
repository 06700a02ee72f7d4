"""Say what the person wants in the end, and which setting serves it best so far."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from farface.etch.bench import EtchBench
from farface.etch.forecast import Forecast
from farface.etch.outcome_odds import STEADY
from farface.kernel import show_quantity
from farface.learn.depth import LEAST_DEPTH_M
from farface.learn.film import point_s
from farface.learn.predictive import Prediction, predict
from farface.learn.seen import odds_text
from farface.records import Setting

# A setting for parts must etch steadily at these odds.
STEADY_ODDS: Final = 0.8


@dataclass(frozen=True, slots=True, kw_only=True)
class Goal:
    """Say what the person wants in the end: a depth, in at most so many passes."""

    depth_m: float
    passes_at_most: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """Hold the best setting for a goal so far, or none; ``sentence`` says which and why."""

    prediction: Prediction | None
    removal_m3_per_s: float
    sentence: str


def goal_odds(
    settings: Sequence[Setting], ahead: Forecast, width: NDArray[np.float64], goal: Goal
) -> NDArray[np.float64]:
    """Return the odds that a setting etches steadily and reaches the goal in time, shape (setting,)."""
    from scipy.special import ndtr

    wanted = math.log(goal.depth_m / goal.passes_at_most)
    log_depth = np.log(np.maximum(ahead.quantity("depth_per_pass_m"), LEAST_DEPTH_M))
    deep_enough = ndtr((log_depth - wanted) / width[:, None])
    return np.asarray((ahead.odds[:, :, STEADY] * deep_enough).mean(axis=0))


def best_setting(
    bench: EtchBench,
    draws: NDArray[np.float64],
    candidates: Sequence[Setting],
    *,
    accepted_risk: float,
    goal: Goal,
) -> Choice:
    """Choose the candidate that removes glass fastest, within the risk, the passes and ``STEADY_ODDS``.

    Candidates are taken with as many passes as the goal needs at their median depth. Removal per second
    is depth per pass x pitch^2 / time a point.
    """
    most = goal.passes_at_most
    needed: dict[Setting, None] = {}
    for p in predict(bench, [replace(s, passes=most) for s in candidates], draws):
        passes = math.ceil(goal.depth_m / p.depth_m)
        if passes <= most:
            needed[replace(p.setting, passes=passes)] = None
    found = predict(bench, list(needed), draws) if needed else ()
    fit_for_use = [p for p in found if p.failure_risk <= accepted_risk and p.odds[STEADY] >= STEADY_ODDS]
    if not fit_for_use:
        return Choice(prediction=None, removal_m3_per_s=0.0, sentence=_none_fits(found, accepted_risk, goal))
    best = max(fit_for_use, key=lambda p: _removal_m3_per_s(bench, p))
    counted = "pass" if best.setting.passes == 1 else "passes"
    sentence = (
        f"{show_quantity(goal.depth_m, 'm')} in {best.setting.passes} {counted} of "
        f"{show_quantity(best.setting.pulse_energy_j, 'J')} at {show_quantity(best.setting.rate_hz, 'Hz')}, "
        f"{best.setting.pulses_per_point} pulses a point, {show_quantity(best.setting.pitch_m, 'm')} apart: "
        f"steady {odds_text(best.odds[STEADY])}, runaway or breaking {odds_text(best.failure_risk)}."
    )
    return Choice(prediction=best, removal_m3_per_s=_removal_m3_per_s(bench, best), sentence=sentence)


def _removal_m3_per_s(bench: EtchBench, p: Prediction) -> float:
    return p.depth_m * p.setting.pitch_m**2 / point_s(bench, p.setting)


def _none_fits(found: Sequence[Prediction], accepted_risk: float, goal: Goal) -> str:
    most = "one pass" if goal.passes_at_most == 1 else f"{goal.passes_at_most} passes or fewer"
    wanted = f"{show_quantity(goal.depth_m, 'm')} in {most}"
    if not found:
        return f"No candidate reaches {wanted}. Allow more passes, or widen the candidates."
    closest = max(found, key=lambda p: p.odds[STEADY] - max(p.failure_risk - accepted_risk, 0.0))
    return (
        f"No candidate that reaches {wanted} is known well enough: the closest etches steadily with "
        f"{odds_text(closest.odds[STEADY])} ({odds_text(STEADY_ODDS)} asked for) and runs away or breaks "
        f"with {odds_text(closest.failure_risk)} ({odds_text(accepted_risk)} accepted). "
        "Run the proposed cells first."
    )
