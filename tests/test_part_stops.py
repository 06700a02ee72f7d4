"""Stops of a plan, and the plan of the rest after a reading."""

from pathlib import Path

import numpy as np
import pytest

from demo_bench import demo_bench
from farface.app.part import plan_part as plan_case
from farface.app.part_order import PartOrder
from farface.app.part_readings import read_reading
from farface.app.settings import Typed
from farface.app.workbench import open_workbench
from farface.kernel import Malformed, Missing
from farface.part.passes import PartPlan, plan_part
from farface.part.stops import Done
from plan_records import COVER, ETCHING, FIELD, RIG, RULE

READ = Done(passes=3, depth_m=9e-6, depth_m_per_pass=3e-6)
TYPED = Typed(energy="300 uJ", rate="40 kHz", pulses=8, pitch="18 um")


def planned(done: dict[str, Done] | None = None) -> PartPlan:
    return plan_part([COVER, RULE, FIELD], rig=RIG, etching=ETCHING, done=done)


def test_stops_lie_between_passes_of_their_shape_and_on_its_points() -> None:
    for stop in planned().stops:
        over = [one for one in planned().passes if one.shape == stop.shape]
        assert 0 < stop.passes < len(over)
        assert over[stop.passes - 1].number == stop.number
        for place in stop.places_m:
            assert np.hypot(*(over[0].points_m - place).T).min() == 0.0


def test_a_cut_has_no_stop() -> None:
    assert not any(stop.shape == COVER.name for stop in planned().stops)


@pytest.mark.exact
def test_the_rest_starts_from_the_depth_that_was_read() -> None:
    plan = planned({"field": READ})
    assert [one.shape for one in plan.earlier] == ["field"] * 3
    assert plan.count("field") == round((30e-6 - 9e-6) / 3e-6)
    first = plan.passes[0]
    assert first.number == 4
    assert first.focus_drop_m == pytest.approx(9e-6 / ETCHING.index)
    assert plan.depth_of_m("field") == pytest.approx(30e-6)
    assert sum(plan.steps_m[:3]) == pytest.approx(9e-6)


def test_the_turn_of_the_hatch_goes_on_after_a_reading() -> None:
    whole, rest = planned(), planned({"field": READ})
    assert np.array_equal(rest.passes[0].points_m, whole.passes[3].points_m)


def test_what_comes_before_a_shape_that_was_read_counts_as_run() -> None:
    plan = planned({"rule": Done(passes=2, depth_m=4e-6, depth_m_per_pass=2e-6)})
    assert plan.count("field") == 0
    assert plan.count("rule") == 3


def test_a_floor_that_is_deep_enough_gets_no_more_passes() -> None:
    plan = planned({"field": Done(passes=8, depth_m=31e-6, depth_m_per_pass=4e-6)})
    assert plan.count("field") == 0


@pytest.mark.parametrize(
    "text", ["field 40: 3 um", "field after forty: 3 um", "field after 4: 3 J", "after 4: 3 um"]
)
def test_what_is_no_reading_is_refused(text: str) -> None:
    with pytest.raises(Malformed):
        read_reading(text)


def test_a_reading_without_an_error_gets_the_usual_one() -> None:
    reading = read_reading("upright 1 after 12: 50 um")
    assert (reading.shape, reading.passes) == ("upright 1", 12)
    assert reading.depth_m == pytest.approx(50e-6)
    assert reading.sd_m == pytest.approx(4e-6)


@pytest.mark.slow
def test_a_reading_narrows_the_plan_and_stays_in_the_journal(tmp_path: Path) -> None:
    drawing = demo_bench(tmp_path / "bench").drawings / "chamber.svg"
    with open_workbench(tmp_path / "bench") as work:
        first = plan_case(work, TYPED, PartOrder(drawing=drawing, risk=1.0))
        after = first.data["stops"][0]["passes"]
        read = f"field after {after}: 25 um +/- 1 um"
        second = plan_case(work, Typed(), PartOrder(drawing=drawing, risk=1.0, readings=(read,)))
        record = work.journal.latest("part")
    assert second.data["setting"] == first.data["setting"]
    assert second.data["passes_run"] == after
    assert second.data["depth_high_share"] / second.data["depth_low_share"] < 2.0
    assert first.data["depth_high_share"] / first.data["depth_low_share"] > 3.0
    assert record is not None
    assert record.body["request"]["readings"] == [read]


@pytest.mark.slow
def test_a_reading_of_what_was_never_planned_is_refused(tmp_path: Path) -> None:
    drawing = demo_bench(tmp_path / "bench").drawings / "chamber.svg"
    order = PartOrder(drawing=drawing, readings=("field after 3: 4 um",))
    with open_workbench(tmp_path / "bench") as work, pytest.raises(Missing, match="no plan of it"):
        plan_case(work, Typed(), order)
