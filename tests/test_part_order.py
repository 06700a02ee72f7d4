"""The order of rows, cuts and tabs: nothing lost, cooler, inner before outer, no corner burnt twice."""

import math
from functools import cache

import numpy as np
import pytest
from numpy.typing import NDArray

from farface.app.part_simulation import depth_at_m
from farface.kernel import OutOfRange
from farface.part.hatch import hatch_points_m, path_points_m
from farface.part.left_heat import SLOTS, Media
from farface.part.near import point_times_s
from farface.part.order import STRIDES, Rows, coolest_stride, interleaved_m, left_over_k
from farface.part.passes import plan_part
from farface.part.place import NEAREST, TAB_M, TABS_FROM, layout_of_turn_m, layouts_of, spaced_m
from farface.part.shapes import Shape
from farface.part.simulate import simulate_depth_map
from farface.records import Pass, Scanner
from plan_records import COVER, ETCHING, RIG, SETTING, rectangle

PITCH = SETTING.pitch_m
ANGLE = math.radians(67.0)
# Borosilicate under water at a spot of 20 um, and no drain: only the glass is looked at here.
MEDIA = Media(20e-6, 1.4e-7, 6e-7, 1500.0, np.zeros((64, 5)))
LEFT_J_PER_M2 = 1e4
# The heat that interleaving is to save, and the time it may cost at most.
COOLER_SHARE = 0.4
LONGER_SHARE = 0.15


# A quick scanner, as galvanometers are: a point is left after some 0.2 ms.
SCANNER = Scanner(field_m=0.06, mark_max_m_per_s=2.0, jump_m_per_s=3.0, settle_s=50e-6)


def passed(points_m: NDArray[np.float64]) -> Pass:
    return Pass(number=1, shape="a", kind="pocket", setting=SETTING, points_m=points_m, focus_drop_m=0.0)


def clock_s(points_m: NDArray[np.float64]) -> NDArray[np.float64]:
    return point_times_s(passed(points_m), SCANNER)


def field(side_m: float = 1.2e-3) -> NDArray[np.float64]:
    return hatch_points_m((rectangle(side_m, side_m),), pitch_m=PITCH, angle_rad=ANGLE)


def sorted_rows(points_m: NDArray[np.float64]) -> NDArray[np.float64]:
    return points_m[np.lexsort(points_m.T)]


@cache
def chosen() -> Rows:
    return coolest_stride(
        field(), pitch_m=PITCH, angle_rad=ANGLE, media=MEDIA, absorbed_j_per_m2=LEFT_J_PER_M2, clock_s=clock_s
    )


@pytest.mark.exact
@pytest.mark.parametrize("stride", STRIDES)
def test_interleaving_fires_every_point_once(stride: int) -> None:
    found = interleaved_m(field(), pitch_m=PITCH, angle_rad=ANGLE, stride=stride)
    assert np.array_equal(sorted_rows(found), sorted_rows(field()))


def test_every_row_starts_where_the_one_before_ended_and_the_first_lie_a_stride_apart() -> None:
    found = interleaved_m(field(), pitch_m=PITCH, angle_rad=ANGLE, stride=8)
    row = np.rint((found @ [-math.sin(ANGLE), math.cos(ANGLE)]) / PITCH).astype(int)
    ends = np.flatnonzero(np.diff(row))
    rows = row[np.concatenate((ends, [len(row) - 1]))]
    assert (np.diff(rows)[: len(rows) // 8 - 1] == 8).all()
    assert (np.abs(np.diff(rows)) > 1).mean() > 0.98
    along = found @ [math.cos(ANGLE), math.sin(ANGLE)]
    ways = np.sign(along[ends] - along[np.concatenate(([0], ends[:-1] + 1))])
    long = np.diff(np.concatenate(([-1], ends))) > 3
    assert (ways[long][1:] * ways[long][:-1] < 0).mean() > 0.9


@pytest.mark.exact
def test_what_a_point_meets_is_the_plain_sum_over_earlier_ones() -> None:
    points_m, times_s = field()[:SLOTS], clock_s(field())[:SLOTS]
    met_k = left_over_k(points_m, times_s, media=MEDIA, absorbed_j_per_m2=LEFT_J_PER_M2)
    w2 = MEDIA.spot_radius_m**2
    for n in range(SLOTS):
        age_s, away2 = times_s[n] - times_s[:n], ((points_m[n] - points_m[:n]) ** 2).sum(axis=1)
        wide = w2 + 8.0 * MEDIA.glass_m2_per_s * age_s
        cooled = MEDIA.glass_effusivity_j_per_m2_k_sqrt_s * np.sqrt(math.pi * age_s)
        plain_k = (LEFT_J_PER_M2 / cooled * w2 / wide * np.exp(-2.0 * away2 / wide)).sum()
        assert met_k[n] == pytest.approx(plain_k, rel=1e-4, abs=0.2)


def test_the_order_chosen_is_cooler_by_what_was_asked_and_costs_next_to_nothing() -> None:
    assert chosen().stride > 1
    assert chosen().chosen_k < (1.0 - COOLER_SHARE) * chosen().plain_k
    assert chosen().longer_share < LONGER_SHARE


def test_small_cuts_come_before_those_around_them_and_inner_rings_before_outer() -> None:
    small = Shape(name="hole", kind="cut", paths_m=(rectangle(1e-3, 1e-3),), depth_m=None)
    plan = plan_part([COVER, small], rig=RIG, etching=ETCHING)
    assert [goal.shape for goal in plan.wanted] == ["hole", "cover"]
    ring = Shape(
        name="ring", kind="cut", paths_m=(rectangle(4e-3, 4e-3), rectangle(1e-3, 1e-3)), depth_m=None
    )
    points_m, _ = layouts_of(ring, pitch_m=PITCH, reach_m=10e-6, passes=1)
    outer = np.abs(points_m).max(axis=1) > 1e-3
    assert not outer[0]
    assert outer[-1]
    assert np.count_nonzero(np.diff(outer)) == 1


def test_tabs_stay_standing_in_the_last_passes() -> None:
    layouts = layouts_of(COVER, pitch_m=PITCH, reach_m=20e-6, passes=10, tabs=4)
    early, late = (layout_of_turn_m(layouts, turn, passes=10, kind="cut") for turn in (1, 9))
    assert layout_of_turn_m(layouts, round(10 * TABS_FROM) - 1, passes=10, kind="cut") is early
    steps = np.hypot(*np.diff(np.vstack((late, late[:1])), axis=0).T)
    gaps = steps[steps > 2.0 * PITCH]
    assert len(gaps) == 4
    assert gaps == pytest.approx(TAB_M + 40e-6, abs=2.5 * PITCH)
    with pytest.raises(OutOfRange, match="more than half"):
        layouts_of(COVER, pitch_m=PITCH, reach_m=20e-6, passes=10, tabs=40)


@pytest.mark.parametrize(("angle_deg", "deeper"), [(180.0, 1.05), (90.0, 1.35), (30.0, 1.7), (3.0, 1.9)])
def test_no_corner_of_a_line_is_burnt_twice(angle_deg: float, deeper: float) -> None:
    turn = math.radians(angle_deg)
    path = np.array([[0.6e-3, 0.0], [0.0, 0.0], [0.6e-3 * math.cos(turn), 0.6e-3 * math.sin(turn)]])
    line = Shape(name="bend", kind="line", paths_m=(path,), depth_m=10e-6)
    (points_m,) = layouts_of(line, pitch_m=PITCH, reach_m=20e-6, passes=1)
    depths = simulate_depth_map(
        [passed(points_m)], 1e-6, spot_radius_m=20e-6, threshold_share=0.05, cell_m=3e-6
    )  # fmt: skip
    straight = layouts_of(
        Shape(name="s", kind="line", paths_m=(path[:2],), depth_m=1e-5),
        pitch_m=PITCH,
        reach_m=20e-6,
        passes=1,
    )
    plain = simulate_depth_map(
        [passed(straight[0])], 1e-6, spot_radius_m=20e-6, threshold_share=0.05, cell_m=3e-6
    )  # fmt: skip
    assert depths.depth_m.max() < deeper * plain.depth_m.max()


@pytest.mark.exact
def test_points_of_a_right_angle_are_all_kept_and_of_a_way_back_half() -> None:
    way = PITCH * np.column_stack((np.arange(10.0), np.zeros(10)))
    corner = np.vstack((way, way[-1] + PITCH * np.column_stack((np.zeros(9), np.arange(1.0, 10.0)))))
    assert len(spaced_m(corner, pitch_m=PITCH)) == 19
    back = np.vstack((way, way[::-1] + np.array([0.0, 0.5 * NEAREST * PITCH])))
    assert len(spaced_m(back, pitch_m=PITCH)) == 10


@pytest.mark.exact
@pytest.mark.parametrize("closed", [True, False])
def test_two_passes_over_a_path_leave_no_ridge_between_points(closed: bool) -> None:
    path = rectangle(0.6e-3, 0.6e-3) if closed else np.array([[-0.4e-3, 0.0], [0.4e-3, 1e-4]])
    on, between = (path_points_m(path, pitch_m=PITCH, closed=closed, between=turn) for turn in (False, True))
    assert len(between) == len(on) - (not closed)
    ends = np.vstack((on, on[:1])) if closed else on
    assert np.abs(between - 0.5 * (ends[1:] + ends[:-1])).max() < 0.3 * PITCH
    # A spot that etches hardly further than half a pitch leaves ridges; between them the next pass goes.
    depths = []
    for points_m in (on, np.vstack((on, between))):
        found = simulate_depth_map(
            [passed(points_m)], 1e-6, spot_radius_m=20e-6, threshold_share=0.6, cell_m=1e-6
        )  # fmt: skip
        depths.append(depth_at_m(found, between[5:-5]) / depth_at_m(found, on[5:-5]))
    assert depths[0] < 0.8
    assert depths[1] > 0.9
