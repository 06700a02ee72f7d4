"""Planned passes: how many, where, with which focus, how long, and what is refused."""

import math
from dataclasses import replace

import numpy as np
import pytest

from farface.kernel import Missing, OutOfRange
from farface.part.depth_map import depth_statistics
from farface.part.duration import passes_duration_s
from farface.part.layouts import distinct_layouts
from farface.part.passes import MOST_PASSES, plan_part
from farface.part.place import DISTINCT_HATCHES, too_narrow_m
from farface.part.shapes import Shape
from farface.part.simulate import simulate_depth_map
from farface.part.stamp import peak_depth_m
from farface.records import Known, Pass
from plan_records import COVER, ETCHING, FIELD, RIG, RULE, SETTING, plan, rectangle

# Sums of a few float64 numbers.
ROUNDING = 1e-12


def shape(width: float, height: float, depth: float | None = 30e-6, **place: float) -> Shape:
    return Shape(name="field", kind="pocket", paths_m=(rectangle(width, height, **place),), depth_m=depth)


def of(kind: str) -> list[Pass]:
    return [one for one in plan().passes if one.kind == kind]


@pytest.mark.exact
def test_the_number_of_passes_is_the_depth_over_the_depth_per_pass_rounded_up() -> None:
    assert len(of("pocket")) == math.ceil(30 / 4)
    exact = plan_part([shape(1e-3, 1e-3, 8e-6)], rig=RIG, etching=replace(ETCHING, depth_per_pass_m=0.8e-6))
    assert len(exact.passes) == 10  # 8 / 0.8 is a little above 10 in binary


@pytest.mark.exact
def test_a_line_takes_more_passes_than_a_hatch_of_the_same_depth() -> None:
    as_line = plan_part([replace(RULE, depth_m=30e-6)], rig=RIG, etching=ETCHING)
    per_pass = ETCHING.depth_m_per_pass("line")
    assert per_pass < ETCHING.depth_m_per_pass("pocket")
    assert len(as_line.passes) == math.ceil(30e-6 / per_pass) > len(of("pocket"))


def test_pockets_come_first_and_cuts_last_through_the_whole_plate() -> None:
    kinds = [one.kind for one in plan().passes]
    assert kinds == sorted(kinds, key=["pocket", "line", "cut"].index)
    assert [one.number for one in plan().passes] == list(range(1, len(kinds) + 1))
    assert plan().wanted[-1].depth_m == RIG.plate.thickness_m.value


@pytest.mark.exact
def test_the_lens_rises_by_what_was_etched_over_the_index() -> None:
    drops = [one.focus_drop_m for one in of("pocket")]
    assert drops == pytest.approx([n * 4e-6 / 1.46 for n in range(8)], rel=ROUNDING)


def test_pulses_and_energy_stay_as_set_and_each_pass_is_one() -> None:
    assert {one.setting for one in plan().passes} == {SETTING}
    many = plan_part([FIELD], rig=RIG, etching=replace(ETCHING, setting=replace(SETTING, passes=7)))
    assert {one.setting.passes for one in many.passes} == {1}


def test_a_pocket_stays_inside_its_outline_and_a_cut_outside() -> None:
    reach = ETCHING.reach_m
    for one in of("pocket"):
        assert np.abs(one.points_m).max(axis=0) == pytest.approx([0.5e-3 - reach, 0.25e-3 - reach], abs=15e-6)
        assert np.all(np.abs(one.points_m) <= [0.5e-3 - reach + 1e-9, 0.25e-3 - reach + 1e-9])
    walked = of("cut")[0].points_m
    outside = np.linalg.norm(np.maximum(np.abs(walked) - 2e-3, 0.0), axis=1)
    assert np.all(outside == pytest.approx(reach, rel=2e-3))  # round corners are flat to 0.12 %


def test_rows_turn_from_pass_to_pass_and_few_layouts_are_kept() -> None:
    layouts = distinct_layouts(of("pocket"))
    assert len(layouts) == DISTINCT_HATCHES
    assert [[one.number for one in layout.passes] for layout in layouts] == [[1, 5], [2, 6], [3, 7], [4, 8]]
    along = np.diff(layouts[1].points_m[:2], axis=0)[0]
    assert math.degrees(math.atan2(along[1], along[0])) % 180 == pytest.approx(67.0)


def test_nobody_can_move_planned_points() -> None:
    with pytest.raises(ValueError, match="read-only"):
        plan().passes[0].points_m[0] = 0.0


@pytest.mark.exact
def test_the_simulated_floor_is_as_deep_as_planned() -> None:
    part = plan_part([FIELD, replace(RULE, depth_m=30e-6)], rig=RIG, etching=ETCHING)
    peak = peak_depth_m(4e-6, pitch_m=15e-6, spot_radius_m=20e-6, threshold_share=0.05)
    depths = simulate_depth_map(part.passes, peak, spot_radius_m=20e-6, threshold_share=0.05, cell_m=5e-6)
    floor = depth_statistics(depths, FIELD, inset_m=2.0 * ETCHING.reach_m)
    # Eight passes of 4 um; what ripple is left from four turned lattices is below a percent.
    assert floor.median_m == pytest.approx(32e-6, rel=0.01)
    assert floor.low_m > 31.5e-6
    rule_row = round((1e-3 - depths.origin_m[1]) / depths.cell_m)
    passes = sum(one.kind == "line" for one in part.passes)
    middle = depths.depth_m[rule_row, depths.depth_m.shape[1] // 2]
    assert middle == pytest.approx(
        passes * ETCHING.depth_m_per_pass("line"), rel=0.03
    )  # ripple along one row


@pytest.mark.exact
def test_the_duration_sums_pulses_ways_and_pauses() -> None:
    points = np.array([[0.0, 0.0], [15e-6, 0.0], [30e-6, 0.0], [30e-6, 4e-3], [15e-6, 4e-3]])
    one = Pass(number=1, shape="a", kind="line", setting=SETTING, points_m=points, focus_drop_m=0.0)
    expected = 5 * 4 / 40e3 + (3 * 15e-6 + 4e-3) / 4.0 + 5 * 1e-3
    assert passes_duration_s([one], RIG.scanner) == pytest.approx(expected, rel=ROUNDING)
    assert passes_duration_s([one, replace(one, number=2)], RIG.scanner) == pytest.approx(
        2 * expected, rel=ROUNDING
    )


def test_an_overshoot_beyond_the_tolerance_is_said() -> None:
    part = plan_part([shape(1e-3, 1e-3, 5e-6)], rig=RIG, etching=ETCHING)
    assert part.warnings == (
        '"field" will be 8 um deep instead of 5 um, because only whole passes can be run.'
        " A gentler setting comes nearer.",
    )
    assert plan_part([shape(1e-3, 1e-3, 8e-6)], rig=RIG, etching=ETCHING).warnings == ()


def test_a_neck_narrower_than_the_spot_is_named() -> None:
    bar = np.array(
        [[-1, -0.5], [1, -0.5], [1, 0.5], [0.02, 0.5], [0.02, 2], [-0.02, 2], [-0.02, 0.5], [-1, 0.5]]
    )
    neck = Shape(name="key", kind="pocket", paths_m=(1e-3 * bar,), depth_m=32e-6)
    (warning,) = plan_part([neck], rig=RIG, etching=ETCHING).warnings
    assert warning.startswith('"key" is narrower than the etched spot')
    ((x, y),) = too_narrow_m(neck.paths_m, reach_m=ETCHING.reach_m)
    assert abs(x) < 0.03e-3
    assert 0.4e-3 < y < 2e-3


def line(*ends: tuple[float, float], depth: float) -> Shape:
    return Shape(name="rule", kind="line", paths_m=(1e-3 * np.array(ends),), depth_m=depth)


@pytest.mark.exact
def test_a_line_on_a_floor_starts_and_focuses_there() -> None:
    inside = line((-0.3, 0.0), (0.3, 0.1), depth=42e-6)
    part = plan_part([inside, FIELD], rig=RIG, etching=ETCHING)
    drops = [one.focus_drop_m for one in part.passes if one.kind == "line"]
    # The field needs eight passes of 4 um, so its floor lies at 32 um.
    per_pass = ETCHING.depth_m_per_pass("line")
    assert len(drops) == math.ceil(10e-6 / per_pass)
    assert drops == pytest.approx([(32e-6 + n * per_pass) / 1.46 for n in range(len(drops))], rel=ROUNDING)
    assert part.warnings == ()


def test_a_smaller_pocket_in_a_larger_one_starts_from_its_floor_whatever_their_order() -> None:
    well = replace(FIELD, name="well", paths_m=(rectangle(0.2e-3, 0.2e-3),), depth_m=60e-6)
    for shapes in ([FIELD, well], [well, FIELD]):
        part = plan_part(shapes, rig=RIG, etching=ETCHING)
        assert [one.shape for one in part.wanted] == ["field", "well"]
        assert sum(one.shape == "well" for one in part.passes) == math.ceil((60 - 32) / 4)


def test_a_line_shallower_than_its_floor_is_refused() -> None:
    with pytest.raises(OutOfRange, match="20 um deep, but lies on a floor that is 32 um deep already"):
        plan_part([line((-0.3, 0.0), (0.3, 0.1), depth=20e-6), FIELD], rig=RIG, etching=ETCHING)


def test_a_line_that_leaves_a_pocket_is_named() -> None:
    (warning,) = plan_part(
        [line((0.0, 0.0), (2.0, 0.0), depth=20e-6), FIELD], rig=RIG, etching=ETCHING
    ).warnings
    assert warning.startswith('"rule" lies partly in "field"')
    along = line((-0.3, 0.25), (0.3, 0.25), depth=40e-6)  # on the edge itself
    around = replace(FIELD, name="frame", kind="cut", paths_m=(rectangle(3e-3, 3e-3),), depth_m=None)
    assert plan_part([along, around, FIELD], rig=RIG, etching=ETCHING).warnings == ()


def test_a_pocket_narrower_than_the_spot_is_refused() -> None:
    with pytest.raises(OutOfRange, match="Draw it as a line"):
        plan_part([shape(40e-6, 1e-3)], rig=RIG, etching=ETCHING)


def test_a_shape_without_a_depth_takes_the_one_for_all() -> None:
    assert (
        plan_part([shape(1e-3, 1e-3, None)], rig=RIG, etching=ETCHING, depth_m=8e-6).wanted[0].depth_m == 8e-6
    )
    assert plan_part([FIELD], rig=RIG, etching=ETCHING, depth_m=8e-6).wanted[0].depth_m == 30e-6
    with pytest.raises(Missing, match="data-depth-um"):
        plan_part([shape(1e-3, 1e-3, None)], rig=RIG, etching=ETCHING)


@pytest.mark.parametrize("depth", [0.0, -1e-6, math.nan, math.inf])
def test_a_depth_must_be_positive(depth: float) -> None:
    with pytest.raises(OutOfRange, match="must be positive"):
        plan_part([shape(1e-3, 1e-3, depth)], rig=RIG, etching=ETCHING)


def test_a_pocket_as_deep_as_the_plate_is_refused_but_a_cut_is_not() -> None:
    thin = replace(RIG, plate=replace(RIG.plate, thickness_m=Known(value=30e-6)))
    with pytest.raises(OutOfRange, match="30 um thick"):
        plan_part([FIELD], rig=thin, etching=ETCHING)
    assert plan_part([COVER], rig=thin, etching=ETCHING).wanted[0].depth_m == 30e-6


def test_a_shape_beyond_the_field_or_the_plate_is_refused() -> None:
    wide = replace(RIG, plate=replace(RIG.plate, width_m=0.2))
    with pytest.raises(OutOfRange, match=r"the scanner's field ends at 30 and 30 mm"):
        plan_part([shape(1e-3, 1e-3, x=31e-3)], rig=wide, etching=ETCHING)
    with pytest.raises(OutOfRange, match=r"the plate ends at 12\.5 and 37\.5 mm"):
        plan_part([shape(1e-3, 1e-3, x=13e-3)], rig=RIG, etching=ETCHING)


@pytest.mark.parametrize("per_pass", [0.0, -1e-6, math.nan, 30e-6 / (MOST_PASSES + 1)])
def test_a_setting_that_etches_next_to_nothing_is_refused(per_pass: float) -> None:
    with pytest.raises(OutOfRange, match="See the window"):
        plan_part([FIELD], rig=RIG, etching=replace(ETCHING, depth_per_pass_m=per_pass))
