import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import entropy

from bench_records import BATH, RIG
from farface.etch.bench import etch_bench
from farface.etch.forecast import QUANTITIES, Forecast, forecast
from farface.etch.unknowns import CELL_SCATTER, DEPTH_SCATTER, draw_prior
from farface.learn.depth import depth_width
from farface.learn.goal import STEADY_ODDS, Goal, best_setting, goal_odds
from farface.learn.information import class_information, depth_information
from farface.learn.next_cells import next_plate, propose
from farface.learn.predictive import Prediction, predict, summarise
from farface.records import SEEN, Setting

BENCH = etch_bench(RIG, BATH)
DRAWS = draw_prior(BENCH, 200, np.random.default_rng(1))
CANDIDATES = [
    Setting(pulse_energy_j=energy_j, rate_hz=rate_hz, pulses_per_point=pulses, pitch_m=15e-6, passes=10)
    for rate_hz in (20e3, 40e3)
    for pulses in (4, 8)
    for energy_j in np.geomspace(5e-5, 8e-4, 7).tolist()
]
GOAL = Goal(depth_m=1e-4, passes_at_most=200)
STEADY = SEEN.index("steady")


def ahead_of(odds: np.ndarray, depth_m: np.ndarray) -> Forecast:
    """Make a forecast of given odds, shape (draw, setting, class), and depths, shape (draw, setting)."""
    values = np.ones((*depth_m.shape, len(QUANTITIES)))
    values[:, :, QUANTITIES.index("depth_per_pass_m")] = depth_m
    return Forecast(odds=odds, values=values)


def known_draws(sds: float = 0.05) -> np.ndarray:
    """Draw from a posterior that knows every unknown but for a twentieth of its prior width."""
    middle = np.exp(np.log(DRAWS).mean(axis=0))
    draws = middle * (DRAWS / middle) ** sds
    draws[:, CELL_SCATTER], draws[:, DEPTH_SCATTER] = 0.05, 0.05
    return np.asarray(draws)


def test_predictions_keep_the_order_asked_for() -> None:
    shuffled = [CANDIDATES[i] for i in np.random.default_rng(1).permutation(len(CANDIDATES))]
    assert [p.setting for p in predict(BENCH, shuffled, DRAWS)] == shuffled


def test_a_prediction_averages_the_draws() -> None:
    ahead = forecast(BENCH, CANDIDATES[3:4], DRAWS, threads=1)
    (found,) = predict(BENCH, CANDIDATES[3:4], DRAWS)
    assert found.odds == pytest.approx(ahead.odds.mean(axis=(0, 1)))
    assert sum(found.odds) == pytest.approx(1.0)
    assert found.failure_risk == pytest.approx(found.odds[4] + found.odds[5])
    margin = ahead.quantity("margin")[:, 0]
    assert (margin < found.margin_low).mean() == pytest.approx(0.05, abs=0.01)


@pytest.mark.exact
def test_the_band_of_one_sure_draw_is_the_scatter_of_cells() -> None:
    odds = np.zeros((1, 1, 6))
    odds[0, 0, STEADY] = 1.0
    (found,) = summarise(CANDIDATES[:1], ahead_of(odds, np.array([[2e-6]])), np.array([0.3]))
    assert found.depth_m == pytest.approx(2e-6)
    # Nine points stand for the normal: its 5 % and 95 % fall on the outermost, at 1.59 of 1.64.
    assert found.depth_low_m == pytest.approx(2e-6 * math.exp(-0.3 * 1.645), rel=0.02)
    assert found.depth_high_m == pytest.approx(2e-6 * math.exp(0.3 * 1.645), rel=0.02)


def test_depth_is_that_of_draws_that_etch_steadily() -> None:
    odds = np.zeros((2, 1, 6))
    odds[0, 0, STEADY], odds[1, 0, SEEN.index("runaway")] = 1.0, 1.0
    (found,) = summarise(CANDIDATES[:1], ahead_of(odds, np.array([[2e-6], [9e-5]])), np.full(2, 0.1))
    assert found.depth_high_m < 3e-6


@pytest.mark.exact
def test_the_information_of_a_class_by_hand() -> None:
    """Let two draws disagree by half: H(mean) - mean H, and ln 2 when each is sure of its own."""
    odds = np.array([[[0.9, 0.1, 0, 0, 0, 0]], [[0.2, 0.8, 0, 0, 0, 0]]], dtype=float)
    exact = entropy([0.55, 0.45]) - 0.5 * (entropy([0.9, 0.1]) + entropy([0.2, 0.8]))
    assert class_information(odds)[0] == pytest.approx(exact)
    sure = np.zeros((2, 1, 6))
    sure[0, 0, 1] = sure[1, 0, 4] = 1.0
    assert class_information(sure)[0] == pytest.approx(math.log(2.0))
    assert class_information(np.repeat(odds[:1], 5, axis=0))[0] == pytest.approx(0.0, abs=1e-12)


@pytest.mark.exact
def test_the_information_of_a_depth_is_that_of_a_normal() -> None:
    """Spread log depth with standard deviation 0.6 against a scatter of 0.3: ln(1 + 4) / 2, if steady."""
    log_depth = 0.6 * np.random.default_rng(1).standard_normal((20_000, 1))
    odds = np.zeros((20_000, 1, 6))
    odds[:, :, STEADY], odds[:, :, 0] = 0.7, 0.3
    found = depth_information(ahead_of(odds, 1e-6 * np.exp(log_depth)), np.full(20_000, 0.3))
    assert found[0] == pytest.approx(0.7 * 0.5 * math.log(5.0), rel=0.02)


def test_no_proposal_is_riskier_than_accepted() -> None:
    everything = predict(BENCH, CANDIDATES, DRAWS)
    assert max(p.failure_risk for p in everything) > 0.2  # there is something to leave out
    for accepted_risk in (0.02, 0.1, 0.3):
        found = propose(BENCH, DRAWS, CANDIDATES, count=6, accepted_risk=accepted_risk, goal=GOAL)
        assert found
        assert max(p.prediction.failure_risk for p in found) <= accepted_risk


def test_nothing_is_proposed_where_nothing_is_safe() -> None:
    assert propose(BENCH, DRAWS, CANDIDATES[-1:], count=3, accepted_risk=0.0, goal=GOAL) == ()
    assert propose(BENCH, DRAWS, [], count=3, accepted_risk=0.5, goal=GOAL) == ()


def test_the_first_cell_teaches_most_and_all_cells_differ() -> None:
    found = propose(BENCH, DRAWS, CANDIDATES, count=6, accepted_risk=0.3, goal=GOAL)
    assert len({p.setting for p in found}) == 6
    worth = [p.information * (1.0 + p.goal_odds) for p in found]
    assert worth[0] == max(worth)


def test_a_neighbour_of_a_chosen_cell_waits() -> None:
    """Offer the best cell's twin: it would teach as much as the best, yet comes last."""
    best = propose(BENCH, DRAWS, CANDIDATES, count=1, accepted_risk=0.3, goal=GOAL)[0].setting
    twin = replace(best, pulse_energy_j=1.001 * best.pulse_energy_j)
    found = propose(BENCH, DRAWS, [*CANDIDATES, twin], count=6, accepted_risk=0.3, goal=GOAL)
    assert len({best, twin} & {p.setting for p in found}) == 1


def test_more_cells_than_candidates_are_not_invented() -> None:
    found = propose(BENCH, DRAWS, CANDIDATES[:3], count=9, accepted_risk=1.0, goal=GOAL)
    assert len(found) == 3


def test_a_known_bench_has_less_to_teach() -> None:
    unsure = propose(BENCH, DRAWS, CANDIDATES, count=1, accepted_risk=0.3, goal=GOAL)[0]
    sure = propose(BENCH, known_draws(), CANDIDATES, count=1, accepted_risk=0.3, goal=GOAL)[0]
    assert sure.information < 0.5 * unsure.information


def test_every_proposal_says_why() -> None:
    for proposal in propose(BENCH, DRAWS, CANDIDATES, count=6, accepted_risk=0.3, goal=GOAL):
        assert "of the 30 % you accept" in proposal.why
        assert (
            "leaves open whether it ends in" in proposal.why or "its depth per pass is open" in proposal.why
        )


@pytest.mark.exact
def test_the_odds_of_reaching_a_goal_by_hand() -> None:
    odds = np.zeros((2, 1, 6))
    odds[:, 0, STEADY] = 0.9, 0.5
    goal = Goal(depth_m=1e-4, passes_at_most=50)  # 2 um a pass
    ahead = ahead_of(odds, np.array([[2e-6], [4e-6]]))
    found = goal_odds(CANDIDATES[:1], ahead, np.array([0.3, 0.3]), goal)
    second = 0.5 * (1.0 + math.erf(math.log(2.0) / 0.3 / math.sqrt(2.0)))
    assert found[0] == pytest.approx(0.5 * (0.9 * 0.5 + 0.5 * second))


def test_the_best_setting_is_the_fastest_that_qualifies() -> None:
    draws = known_draws()
    choice = best_setting(BENCH, draws, CANDIDATES, accepted_risk=0.1, goal=GOAL)
    best = choice.prediction
    assert best is not None, choice.sentence
    assert best.failure_risk <= 0.1
    assert best.odds[STEADY] >= STEADY_ODDS
    assert best.setting.passes * best.depth_m >= GOAL.depth_m * 0.999
    assert best.setting.passes <= GOAL.passes_at_most
    speeds = []
    for p in predict(BENCH, [replace(s, passes=best.setting.passes) for s in CANDIDATES], draws):
        cycle_s = p.setting.pulses_per_point / p.setting.rate_hz + 55e-6 + 15e-6 / 3.0
        if p.failure_risk <= 0.09 and p.odds[STEADY] >= 0.85 and p.depth_m * 190 >= GOAL.depth_m:
            speeds.append(p.depth_m * p.setting.pitch_m**2 / cycle_s)
    assert choice.removal_m3_per_s >= max(speeds) * 0.999
    assert choice.sentence.startswith("100 um in ")


def test_who_accepts_less_risk_waits_longer(monkeypatch: pytest.MonkeyPatch) -> None:
    """Offer, slow to fast: a safe cell, a risky one, and one that often bursts below."""
    offered = {  # steady, runaway, depth a pass
        CANDIDATES[0]: (0.95, 0.001, 1e-6),
        CANDIDATES[1]: (0.85, 0.14, 3e-6),
        CANDIDATES[2]: (0.70, 0.001, 9e-6),
    }

    def known(_bench: object, settings: list[Setting], _draws: object) -> list[Prediction]:
        found = []
        for setting in settings:
            steady, runaway, depth_m = offered[replace(setting, passes=10)]
            found.append(
                Prediction(
                    setting=setting, odds=(0.0, 0.0, steady, 1.0 - steady - runaway, runaway, 0.0),
                    depth_m=depth_m, depth_low_m=depth_m, depth_high_m=depth_m, margin=2.0, margin_low=1.5,
                    failure_risk=runaway,
                )
            )  # fmt: skip
        return found

    monkeypatch.setattr("farface.learn.goal.predict", known)
    chosen = {}
    for risk in (0.2, 0.1, 1e-4):
        choice = best_setting(BENCH, DRAWS, list(offered), accepted_risk=risk, goal=GOAL)
        chosen[risk] = choice.prediction and replace(choice.prediction.setting, passes=10)
    assert chosen == {0.2: CANDIDATES[1], 0.1: CANDIDATES[0], 1e-4: None}


def test_when_nothing_qualifies_a_sentence_says_why() -> None:
    far = Goal(depth_m=1e-2, passes_at_most=1)
    choice = best_setting(BENCH, known_draws(), CANDIDATES[:3], accepted_risk=0.1, goal=far)
    assert choice.prediction is None
    assert choice.sentence.startswith("No candidate reaches 10.0 mm in one pass.")
    unsure = best_setting(BENCH, DRAWS, CANDIDATES, accepted_risk=0.001, goal=GOAL)
    assert unsure.prediction is None
    assert "Run the proposed cells first." in unsure.sentence


def test_depth_widths_enter_the_band() -> None:
    (narrow,) = predict(BENCH, CANDIDATES[10:11], known_draws())
    wide_draws = known_draws()
    wide_draws[:, CELL_SCATTER] = 0.2
    (wide,) = predict(BENCH, CANDIDATES[10:11], wide_draws)
    assert depth_width(wide_draws)[0] > 2 * depth_width(known_draws())[0]
    assert wide.depth_high_m / wide.depth_low_m > 1.5 * narrow.depth_high_m / narrow.depth_low_m


def test_the_next_plate_tries_the_best_setting_as_it_would_be_used() -> None:
    known = known_draws()
    plate = next_plate(BENCH, known, CANDIDATES, count=4, accepted_risk=0.2, goal=GOAL)
    best = plate.choice.prediction
    assert best is not None and best.setting.passes != CANDIDATES[0].passes
    first, *rest = plate.proposals
    assert first.setting == best.setting
    assert first.why.startswith("The best setting so far")
    assert len(plate.proposals) == 4
    assert all(p.setting in CANDIDATES and p.prediction.failure_risk <= 0.2 for p in rest)


def test_without_a_best_setting_every_cell_is_there_to_teach() -> None:
    """Ask for a depth that none reaches, and then for a goal stricter than any candidate."""
    for goal, risk in ((Goal(depth_m=1.0, passes_at_most=2), 0.5), (GOAL, 1e-9)):
        plate = next_plate(BENCH, DRAWS, CANDIDATES, count=3, accepted_risk=0.5, goal=goal, goal_risk=risk)
        assert plate.choice.prediction is None
        assert [p.setting for p in plate.proposals] == [
            p.setting for p in propose(BENCH, DRAWS, CANDIDATES, count=3, accepted_risk=0.5, goal=goal)
        ]
