import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import norm

from bench_records import BATH, RIG
from farface.etch.bench import etch_bench
from farface.etch.forecast import QUANTITIES, Forecast, forecast
from farface.etch.unknowns import draw_prior
from farface.learn.depth import depth_width
from farface.learn.likelihood import log_likelihood, log_plate
from farface.learn.plates import PLATE_WIDTH, by_plate, in_order, on_next_plate, on_plate
from farface.learn.replicate import replicate
from farface.learn.seen import misreading
from farface.records import DepthReading, Outcome, Pierced, Seen, Setting

BENCH = etch_bench(RIG, BATH)
DRAWS = draw_prior(BENCH, 12, np.random.default_rng(2))
BASE = Setting(pulse_energy_j=3e-4, rate_hz=40e3, pulses_per_point=8, pitch_m=15e-6, passes=10)
SETTINGS = [
    replace(BASE, pulse_energy_j=energy_j, rate_hz=rate_hz)
    for energy_j in (1e-4, 2e-4, 4e-4)
    for rate_hz in (20e3, 60e3)
]
MISREAD = misreading()
ROUNDING = 1e-9


def outcome(seen: Seen = "steady", *, plate: str = "A", setting: Setting = BASE, **read: object) -> Outcome:
    return Outcome(plate=plate, cell="1", order=1, setting=setting, seen=seen, **read)  # type: ignore[arg-type]


def depth(depth_m: float, sd_m: float = 2e-6, method: str = "focus_travel") -> DepthReading:
    return DepthReading(depth_m=depth_m, sd_m=sd_m, method=method)  # type: ignore[arg-type]


def value(outcomes: list[Outcome]) -> np.ndarray:
    evidence = by_plate(BENCH, outcomes, [])
    return log_likelihood(BENCH, evidence, DRAWS, np.zeros((12, len(evidence))), misread=MISREAD)


def test_equal_rates_stand_side_by_side_and_repeats_are_dropped() -> None:
    ordered = in_order(SETTINGS + SETTINGS)
    assert len(ordered) == len(SETTINGS)
    rates = [s.rate_hz for s in ordered]
    assert rates == sorted(rates)


@pytest.mark.exact
def test_the_likelihood_of_a_plate_by_hand() -> None:
    """Take one draw that is sure of steady and 2 um a pass, with a wide error so that all is normal."""
    values = np.full((1, 1, len(QUANTITIES)), 2e-6)
    sure = np.zeros((1, 1, 6))
    sure[0, 0, 2] = 1.0
    ahead = Forecast(odds=sure, values=values)
    cells = [
        outcome(depth=depth(26e-6, 3e-6)),
        outcome(pierced=Pierced(thickness_m=17e-5, whole_after=80, through_by=100)),
        outcome("frosted"),
    ]
    (plate,) = by_plate(BENCH, cells, [])
    width = np.array([1e-3])
    classes = 2 * math.log(MISREAD[2, 2]) + math.log(MISREAD[2, 1])
    measured = norm(2.0e-6, 3e-7).logpdf(2.6e-6)  # per pass
    pierced = math.log(norm.cdf(math.log(2.125 / 2.0), 0, 1e-3) - norm.cdf(math.log(1.7 / 2.0), 0, 1e-3))
    found = log_plate(plate, ahead, width, MISREAD)[0]
    assert found == pytest.approx(classes + measured + pierced, abs=1e-4)


def test_cells_of_one_setting_count_each() -> None:
    assert value([outcome("runaway")] * 3) == pytest.approx(3 * value([outcome("runaway")]), abs=ROUNDING)


def test_plates_add_up() -> None:
    first = [outcome(plate="A", depth=depth(2e-5)), outcome("frosted", plate="A", setting=SETTINGS[0])]
    second = [outcome("runaway", plate="B", setting=SETTINGS[5])]
    assert value(first + second) == pytest.approx(value(first) + value(second), abs=ROUNDING)


@pytest.mark.parametrize("seen", ["nothing", "frosted", "burst_below", "runaway", "broken"])
def test_only_a_steady_floor_has_a_depth(seen: Seen) -> None:
    bare = value([outcome(seen)])
    assert value([outcome(seen, depth=depth(2e-5))]) == pytest.approx(bare, abs=ROUNDING)
    pierced = Pierced(thickness_m=1.7e-4, whole_after=4, through_by=5)
    assert value([outcome(seen, pierced=pierced)]) == pytest.approx(bare, abs=ROUNDING)
    assert not np.allclose(value([outcome(depth=depth(2e-5))]), value([outcome()]))


def test_a_cell_has_one_depth() -> None:
    through = Pierced(thickness_m=1.7e-4, whole_after=12, through_by=13)
    whole = Pierced(thickness_m=1.7e-4, whole_after=10, through_by=None)
    read = depth(2e-5)
    assert value([outcome(depth=read, pierced=through)]) == pytest.approx(value([outcome(pierced=through)]))
    assert value([outcome(depth=read, pierced=whole)]) == pytest.approx(value([outcome(depth=read)]))


def test_a_felt_depth_only_bounds() -> None:
    (plate,) = by_plate(BENCH, [outcome(depth=depth(1e-5, method="feel_at_least"))], [])
    assert (len(plate.felt.at), len(plate.measured.at)) == (1, 0)
    assert plate.felt.first_m[0] == pytest.approx(1e-6)  # per pass


def test_an_offset_moves_the_fluence_of_its_plate_only() -> None:
    offset = np.linspace(-0.2, 0.2, 12)
    usual = forecast(BENCH, [BASE], DRAWS, threads=1).quantity("fluence_j_per_m2")
    moved = forecast(BENCH, [BASE], on_plate(DRAWS, offset), threads=1).quantity("fluence_j_per_m2")
    assert moved[:, 0] / usual[:, 0] == pytest.approx(np.exp(offset))
    cells = [outcome(plate="A"), outcome("runaway", plate="B")]
    evidence = by_plate(BENCH, cells, [])
    assert [plate.plate for plate in evidence] == ["A", "B"]
    offsets = np.column_stack((np.zeros(12), offset))
    together = log_likelihood(BENCH, evidence, DRAWS, offsets, misread=MISREAD)
    apart = log_likelihood(BENCH, evidence[:1], DRAWS, offsets[:, :1], misread=MISREAD)
    apart = apart + log_likelihood(BENCH, evidence[1:], DRAWS, offsets[:, 1:], misread=MISREAD)
    assert together == pytest.approx(apart, abs=ROUNDING)


def test_the_next_plate_is_drawn_from_the_prior_of_plates() -> None:
    many = np.repeat(DRAWS[:1], 4000, axis=0)
    moved = on_next_plate(many, np.random.default_rng(1))
    log_fluence = -2.0 * np.log(moved[:, 1] / many[:, 1])
    assert log_fluence.std() == pytest.approx(PLATE_WIDTH, rel=0.05)  # 4 standard errors
    assert np.delete(moved, 1, axis=1) == pytest.approx(np.delete(many, 1, axis=1))


def test_threads_do_not_change_the_result() -> None:
    evidence = by_plate(BENCH, replicate(BENCH, SETTINGS, DRAWS[0], np.random.default_rng(3)), [])
    one, two = (
        log_likelihood(BENCH, evidence, DRAWS, np.zeros((12, 1)), misread=MISREAD, threads=n) for n in (1, 2)
    )
    assert np.array_equal(one, two)


def test_replicates_follow_the_odds_of_their_draw() -> None:
    """Count classes and depths of one setting run many times."""
    rng, runs = np.random.default_rng(4), 1500
    cells = replicate(BENCH, [BASE] * runs, DRAWS[0], rng, sd_m=1e-9)
    ahead = forecast(BENCH, [BASE], DRAWS[:1], threads=1)
    expected = (ahead.odds[0, 0] @ MISREAD)[2]
    steady = [o for o in cells if o.seen == "steady"]
    assert len(steady) / runs == pytest.approx(
        expected, abs=4.0 * math.sqrt(expected * (1 - expected) / runs)
    )
    logs = np.log([o.depth.depth_m for o in steady if o.depth])
    median = math.log(ahead.quantity("depth_per_pass_m")[0, 0] * BASE.passes)
    width = depth_width(DRAWS[:1])[0]
    assert logs.mean() == pytest.approx(median, abs=4.0 * width / math.sqrt(len(logs)))
    assert logs.std() == pytest.approx(width, rel=4.0 / math.sqrt(2 * len(logs)))
    assert {o.depth for o in cells if o.seen != "steady"} <= {None}
