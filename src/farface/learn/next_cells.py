"""Choose the cells to run next: those whose outcomes would teach most, within the risk the person accepts."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from farface.etch.bench import EtchBench
from farface.etch.forecast import Forecast, forecast
from farface.etch.outcome_odds import STEADY
from farface.kernel import show_quantity
from farface.learn.depth import depth_width
from farface.learn.goal import Choice, Goal, best_setting, goal_odds
from farface.learn.information import class_information, depth_information
from farface.learn.plates import in_order
from farface.learn.predictive import Prediction, summarise
from farface.learn.seen import misreading, odds_text, seen_word
from farface.records import SEEN, Setting

# Two cells closer than this share of the candidates' range count as near one another.
NEAR_SHARE: Final = 0.2


@dataclass(frozen=True, slots=True, kw_only=True)
class Proposal:
    """Hold one cell to run, what it will show, what it would teach, and why it was chosen.

    ``information`` is in nats: what its class and its depth together would tell of the unknowns.
    ``goal_odds`` are the odds that this very setting reaches the goal.
    """

    prediction: Prediction
    information: float
    goal_odds: float
    why: str

    @property
    def setting(self) -> Setting:
        """Return the setting to run."""
        return self.prediction.setting


@dataclass(frozen=True, slots=True, kw_only=True)
class NextPlate:
    """Hold the cells of the next plate, and the setting that serves the goal best so far, if any does."""

    proposals: tuple[Proposal, ...]
    choice: Choice


@dataclass(frozen=True, slots=True, kw_only=True)
class _Candidates:
    """Hold candidates within the accepted risk: information and goal odds, shape (candidate,)."""

    predictions: tuple[Prediction, ...]
    classes: NDArray[np.float64]
    depths: NDArray[np.float64]
    goal_odds: NDArray[np.float64]

    @property
    def worth(self) -> NDArray[np.float64]:
        """Return information, up to doubled where the cell may itself be the answer."""
        return np.asarray((self.classes + self.depths) * (1.0 + self.goal_odds))


def next_plate(
    bench: EtchBench,
    draws: NDArray[np.float64],
    candidates: Sequence[Setting],
    *,
    count: int,
    accepted_risk: float,
    goal: Goal,
    goal_risk: float | None = None,
) -> NextPlate:
    """Propose up to ``count`` cells: the best setting so far as it would be used, then those that teach most.

    The best setting is one within ``goal_risk``, by itself the risk accepted in a cell. Its cell is run with
    all the passes that the goal needs, which shows whether a prediction from fewer passes holds.
    """
    choice = best_setting(bench, draws, candidates, accepted_risk=goal_risk or accepted_risk, goal=goal)
    held = choice.prediction is not None and choice.prediction.failure_risk <= accepted_risk
    trying = () if choice.prediction is None or not held else (choice.prediction.setting,)
    first = propose(bench, draws, trying, count=1, accepted_risk=accepted_risk, goal=goal)
    first = tuple(replace(p, why=f"The best setting so far, with all its passes. {p.why}") for p in first)
    rest = propose(bench, draws, candidates, count=count - len(first), accepted_risk=accepted_risk, goal=goal)
    return NextPlate(proposals=(*first, *rest), choice=choice)


def propose(
    bench: EtchBench,
    draws: NDArray[np.float64],
    candidates: Sequence[Setting],
    *,
    count: int,
    accepted_risk: float,
    goal: Goal,
) -> tuple[Proposal, ...]:
    """Choose up to ``count`` cells among ``candidates``, none above ``accepted_risk``; empty if none is safe.

    Worth is the mutual information between a cell's outcome and the unknowns, times 1 + the odds that the
    cell reaches the goal. Cells are taken one by one, and a candidate's worth is lowered by
    1 - exp(-(distance / NEAR_SHARE)^2) for each cell already taken, so that cells differ. What several
    cells tell together is not computed. For a new plate pass ``draws`` through ``on_next_plate``.
    """
    ordered = in_order(candidates)
    if not ordered:
        return ()
    known = _weigh(ordered, forecast(bench, ordered, draws), draws, accepted_risk, goal)
    if not known.predictions:
        return ()
    places = _places([p.setting for p in known.predictions], bench)
    worth = known.worth.copy()
    chosen: list[Proposal] = []
    taken = np.zeros(len(worth), dtype=bool)
    for _ in range(min(count, len(worth))):
        best = int(np.argmax(np.where(taken, -1.0, worth)))
        taken[best] = True
        chosen.append(_proposal(known, best, accepted_risk, goal))
        distance2 = ((places - places[best]) ** 2).sum(axis=1)
        worth *= 1.0 - np.exp(-distance2 / NEAR_SHARE**2)
    return tuple(chosen)


def _weigh(
    settings: Sequence[Setting],
    ahead: Forecast,
    draws: NDArray[np.float64],
    accepted_risk: float,
    goal: Goal,
) -> _Candidates:
    """Drop candidates above the accepted risk, and weigh the others."""
    width = depth_width(draws)
    predictions = summarise(settings, ahead, width)
    safe = np.array([p.failure_risk <= accepted_risk for p in predictions])
    return _Candidates(
        predictions=tuple(p for p, kept in zip(predictions, safe, strict=True) if kept),
        classes=class_information(ahead.odds @ misreading())[safe],
        depths=depth_information(ahead, width)[safe],
        goal_odds=goal_odds(settings, ahead, width, goal)[safe],
    )


def _places(settings: Sequence[Setting], bench: EtchBench) -> NDArray[np.float64]:
    """Place settings in a cube of side 1: logarithms of the knobs, over the candidates' range."""
    knobs = np.array(
        [
            (
                math.log(s.pulse_energy_j),
                math.log(s.rate_hz),
                math.log(s.pulses_per_point),
                math.log(s.pitch_m),
                math.log(s.passes),
                s.focus_offset_m / bench.rayleigh_m,
            )
            for s in settings
        ]
    )
    span = np.ptp(knobs, axis=0)
    return np.asarray((knobs - knobs.min(axis=0)) / np.where(span > 0.0, span, 1.0))


def _proposal(known: _Candidates, at: int, accepted_risk: float, goal: Goal) -> Proposal:
    prediction, reached = known.predictions[at], float(known.goal_odds[at])
    first, second = np.argsort(prediction.odds)[::-1][:2]
    if known.classes[at] >= known.depths[at]:
        why = (
            f"What is known leaves open whether it ends in '{seen_word(SEEN[first])}' "
            f"({odds_text(prediction.odds[first])}) or '{seen_word(SEEN[second])}' "
            f"({odds_text(prediction.odds[second])})"
        )
    else:
        why = (
            f"It etches steadily with odds of {odds_text(prediction.odds[STEADY])}, and its depth per pass "
            f"is open between {show_quantity(prediction.depth_low_m, 'm')} and "
            f"{show_quantity(prediction.depth_high_m, 'm')}"
        )
    why += (
        f"; runaway or breaking {odds_text(prediction.failure_risk)}, "
        f"of the {odds_text(accepted_risk)} you accept."
    )
    if reached >= 0.5:
        why += (
            f" It may itself be the answer: {odds_text(reached)} that it reaches "
            f"{show_quantity(goal.depth_m, 'm')} in {goal.passes_at_most} passes."
        )
    return Proposal(
        prediction=prediction,
        information=float(known.classes[at] + known.depths[at]),
        goal_odds=reached,
        why=why,
    )
