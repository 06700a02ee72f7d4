"""The depth map, against a slow twin, conservation of volume, and the closed form of a hatch's floor."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from farface.kernel import OutOfRange
from farface.part.depth_map import DepthMap, depth_statistics
from farface.part.hatch import hatch_points_m
from farface.part.shapes import Shape
from farface.part.simulate import add_dents, simulate_depth_map
from farface.part.stamp import dent_radius_m, dent_volume_m2, peak_depth_m
from farface.records import Pass, Setting

W = 20e-6
SHARE = 0.05
PEAK = 0.2e-6
PITCH = 15e-6

# float32 keeps 6e-8 of each value; sums of many cells keep that too.
FLOAT32 = 2e-7
# Twin and kernel add the same float64 numbers in another order.
SAME = 1e-6

SETTING = Setting(pulse_energy_j=2e-4, rate_hz=40e3, pulses_per_point=4, pitch_m=PITCH, passes=1)


def passed(points: NDArray[np.float64], number: int = 1) -> Pass:
    return Pass(number=number, shape="a", kind="pocket", setting=SETTING, points_m=points, focus_drop_m=0.0)


def square(side: float) -> NDArray[np.float64]:
    return side / 2 * np.array([[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]])


def simulate(passes: list[Pass], peak: float | list[float] = PEAK, cell: float = 5e-6) -> DepthMap:
    return simulate_depth_map(passes, peak, spot_radius_m=W, threshold_share=SHARE, cell_m=cell)


def slow_map(points: NDArray[np.float64], like: DepthMap, spot: float, share: float) -> NDArray[np.float64]:
    """Add dents one by one over the whole grid, each scaled to its volume."""
    rows, columns = like.depth_m.shape
    x = like.origin_m[0] + like.cell_m * np.arange(columns)
    y = like.origin_m[1] + like.cell_m * np.arange(rows)[:, None]
    depth = np.zeros((rows, columns))
    for at_x, at_y in points:
        dent = np.maximum(np.exp(-2.0 * ((x - at_x) ** 2 + (y - at_y) ** 2) / spot**2) - share, 0.0)
        depth += PEAK * dent_volume_m2(spot, share) / like.cell_m**2 * dent / dent.sum()
    return depth


@pytest.mark.exact
@given(st.integers(0, 10_000), st.floats(0.01, 0.8), st.floats(3e-6, 12e-6))
def test_the_map_is_that_of_its_slow_twin(seed: int, share: float, cell: float) -> None:
    points = np.random.default_rng(seed).uniform(-1e-4, 1e-4, (30, 2))
    cell = min(cell, 0.9 * dent_radius_m(W, share))
    depths = simulate_depth_map([passed(points)], PEAK, spot_radius_m=W, threshold_share=share, cell_m=cell)
    slow = slow_map(points, depths, W, share)
    assert np.abs(depths.depth_m - slow).max() <= SAME * slow.max()


@pytest.mark.exact
@given(st.integers(0, 10_000), st.floats(0.0, 0.9), st.floats(1e-6, 8e-6))
def test_every_dent_keeps_its_volume_whatever_the_cell(seed: int, share: float, cell: float) -> None:
    points = np.random.default_rng(seed).uniform(-1e-4, 1e-4, (50, 2))
    cell = min(cell, 0.9 * dent_radius_m(W, share))
    depths = simulate_depth_map([passed(points)], PEAK, spot_radius_m=W, threshold_share=share, cell_m=cell)
    volume = depths.depth_m.sum(dtype=np.float64) * cell**2
    assert volume == pytest.approx(50 * PEAK * dent_volume_m2(W, share), rel=FLOAT32)


@given(st.integers(0, 10_000))
def test_the_order_of_firing_does_not_matter(seed: int) -> None:
    rng = np.random.default_rng(seed)
    points = rng.uniform(-1e-4, 1e-4, (200, 2))
    one, other = simulate([passed(points)]), simulate([passed(rng.permutation(points))])
    assert np.allclose(one.depth_m, other.depth_m, rtol=SAME, atol=0.0)


@pytest.mark.exact
def test_passes_that_share_points_count_as_often_as_they_run() -> None:
    points = hatch_points_m([square(2e-4)], pitch_m=PITCH, angle_rad=0.4)
    thrice = simulate([passed(points, n) for n in (1, 2, 3)], [PEAK, 2.0 * PEAK, 0.5 * PEAK])
    apart = simulate([passed(points.copy(), n) for n in (1, 2, 3)], [PEAK, 2.0 * PEAK, 0.5 * PEAK])
    assert np.allclose(thrice.depth_m, 3.5 * simulate([passed(points)]).depth_m, rtol=SAME, atol=0.0)
    assert np.allclose(thrice.depth_m, apart.depth_m, rtol=SAME, atol=0.0)


@pytest.mark.exact
def test_the_floor_of_a_hatch_has_the_depth_it_was_planned_for() -> None:
    shape = Shape(name="field", kind="pocket", paths_m=(square(1e-3),), depth_m=None)
    points = hatch_points_m(shape.paths_m, pitch_m=PITCH, angle_rad=0.3)
    peak = peak_depth_m(4e-6, pitch_m=PITCH, spot_radius_m=W, threshold_share=SHARE)
    floor = depth_statistics(simulate([passed(points)], peak), shape, inset_m=1e-4)
    # A lattice of dents three quarters of a spot apart ripples by about a percent.
    assert floor.median_m == pytest.approx(4e-6, rel=0.01)
    assert 3.9e-6 < floor.low_m < floor.median_m < floor.high_m < 4.1e-6


@pytest.mark.exact
def test_the_edge_of_a_hatch_has_half_the_depth() -> None:
    points = hatch_points_m([square(1e-3)], pitch_m=2e-6, angle_rad=0.0)
    depths = simulate(
        [passed(points)], peak_depth_m(4e-6, pitch_m=2e-6, spot_radius_m=W, threshold_share=SHARE)
    )
    row = depths.depth_m[depths.depth_m.shape[0] // 2]
    x = depths.origin_m[0] + depths.cell_m * np.arange(len(row))
    # A row begins on the left edge itself, so what it hatches lies half a pitch to the left.
    assert np.interp(-0.5e-3 - 1e-6, x, row) == pytest.approx(2e-6, rel=0.01)


@pytest.mark.exact
def test_what_lies_outside_the_grid_is_left_out() -> None:
    # A dent in the middle of the grid's lower left cell: a quarter and the two half axes lie inside.
    inside, whole = np.zeros((20, 20)), np.zeros((41, 41))
    add_dents(inside, np.array([[0.0, 0.0]]), 1.0, 4.0, 5.0, SHARE)
    add_dents(whole, np.array([[20.0, 20.0]]), 1.0, 4.0, 5.0, SHARE)
    assert np.allclose(inside, whole[20:40, 20:40], rtol=SAME, atol=0.0)
    assert whole.sum() == pytest.approx(1.0, rel=1e-12)


@given(st.floats(-3e-5, 3e-5), st.floats(-3e-5, 3e-5), st.sampled_from([0.0, 0.05, 0.6]))
def test_only_the_rim_of_a_map_is_untouched(x: float, y: float, share: float) -> None:
    one = passed(np.array([[x, y]]))
    depth = simulate_depth_map([one], PEAK, spot_radius_m=W, threshold_share=share, cell_m=4e-6).depth_m
    assert depth[[0, -1]].max() == depth[:, [0, -1]].max() == 0.0
    # Not much is left empty: the dent, a row for its place within a cell, and the rim.
    assert max(depth.shape) <= 2 * math.ceil(dent_radius_m(W, share) / 4e-6) + 4
    assert depth.dtype == np.float32


def test_a_cell_wider_than_a_dent_is_refused() -> None:
    with pytest.raises(OutOfRange, match="at most half"):
        simulate([passed(np.zeros((1, 2)))], cell=30e-6)


def test_a_map_beyond_memory_is_refused() -> None:
    with pytest.raises(OutOfRange, match="wider cell"):
        simulate([passed(np.array([[0.0, 0.0], [0.05, 0.05]]))], cell=1e-6)


@pytest.mark.exact
def test_statistics_count_the_cells_inside() -> None:
    ramp = np.broadcast_to(np.arange(100, dtype=np.float32), (100, 100))
    depths = DepthMap(depth_m=ramp, origin_m=(0.5, 0.5), cell_m=1.0)
    shape = Shape(
        name="half", kind="pocket", paths_m=(np.array([[0, 0], [50, 0], [50, 100], [0, 100]]),), depth_m=None
    )
    found = depth_statistics(depths, shape)
    assert (found.cells, found.median_m) == (5000, 24.5)
    assert (found.low_m, found.high_m) == (2.0, 47.0)


def test_statistics_need_a_place_to_look() -> None:
    depths = simulate([passed(np.zeros((1, 2)))])
    line = Shape(name="rule", kind="line", paths_m=(np.array([[0.0, 0.0], [1e-4, 0.0]]),), depth_m=None)
    narrow = Shape(name="slot", kind="pocket", paths_m=(square(1e-4),), depth_m=None)
    with pytest.raises(OutOfRange, match='"rule"'):
        depth_statistics(depths, line)
    with pytest.raises(OutOfRange, match='"slot" drawn in by 60 um'):
        depth_statistics(depths, narrow, inset_m=60e-6)


def test_a_dent_is_as_deep_as_its_peak_in_the_middle() -> None:
    depths = simulate([passed(np.zeros((1, 2)))], cell=1e-6)
    assert math.isclose(
        depths.depth_m.max(), PEAK, rel_tol=2e-3
    )  # a 1 um grid sums the kinked profile to 0.2 %
