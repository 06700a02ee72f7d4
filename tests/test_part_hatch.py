"""Hatching: against polygon area, a point-in-polygon test, and the known error of counting lattice points."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.special import zeta

from farface.kernel import OutOfRange
from farface.part import hatch
from farface.part.hatch import hatch_points_m, inset_rings, path_points_m
from farface.part.shapes import region_of

# Rounding of a turned lattice point of up to 1e4 pitches, in pitches.
ROUNDING = 1e-9

angles = st.floats(-math.pi, math.pi)


def circle(
    radius: float, *, middle: tuple[float, float] = (0.0, 0.0), vertices: int = 400
) -> NDArray[np.float64]:
    turn = np.linspace(0.0, 2.0 * math.pi, vertices, endpoint=False)
    return np.column_stack((middle[0] + radius * np.cos(turn), middle[1] + radius * np.sin(turn)))


def star(rng: np.random.Generator, vertices: int, radius: float = 1.0) -> NDArray[np.float64]:
    # One vertex in each slice of the turn, so that the whole star is seen from the origin.
    turn = 2.0 * math.pi / vertices * (np.arange(vertices) + rng.uniform(0.0, 0.9, vertices))
    size = radius * rng.uniform(0.3, 1.0, vertices)
    return np.column_stack((size * np.cos(turn), size * np.sin(turn)))


def slow_hatch(rings: list[NDArray[np.float64]], pitch: float, angle: float) -> NDArray[np.float64]:
    """Test every lattice point around the region by the polygons of a general-purpose library."""
    from shapely import contains_xy

    reach = math.ceil(max(np.abs(ring).max() for ring in rings) * math.sqrt(2.0) / pitch) + 1
    x, y = (pitch * grid.ravel() for grid in np.meshgrid(*2 * [np.arange(-reach, reach + 1)]))
    turned = np.column_stack(
        (x * math.cos(angle) - y * math.sin(angle), x * math.sin(angle) + y * math.cos(angle))
    )
    return turned[contains_xy(region_of(rings), turned)]


@pytest.mark.exact
@given(st.integers(0, 10_000), angles)
def test_the_points_are_those_a_polygon_library_finds_inside(seed: int, angle: float) -> None:
    rng = np.random.default_rng(seed)
    rings = [star(rng, 12), circle(0.15, middle=(0.05, 0.02), vertices=9)]
    ours = hatch_points_m(rings, pitch_m=0.05, angle_rad=angle)
    theirs = slow_hatch(rings, 0.05, angle)
    # A point on an edge to the last digit may fall either way; none of these lies there.
    assert len(ours) == len(theirs)
    assert np.allclose(ours[np.lexsort(ours.round(9).T)], theirs[np.lexsort(theirs.round(9).T)], atol=1e-8)


@pytest.mark.exact
@given(st.integers(0, 10_000), angles)
def test_two_halves_share_no_point_and_lose_none(seed: int, angle: float) -> None:
    rng = np.random.default_rng(seed)
    whole = star(rng, 15)
    # Cut from one vertex to the origin and on to another.
    a, b = sorted(rng.choice(15, 2, replace=False))
    origin = np.zeros((1, 2))
    halves = [np.vstack((origin, whole[a : b + 1])), np.vstack((origin, whole[b:], whole[: a + 1]))]
    together = hatch_points_m([whole], pitch_m=0.03, angle_rad=angle)
    apart = [hatch_points_m([half], pitch_m=0.03, angle_rad=angle) for half in halves]
    counted = sum(map(len, apart))
    assert counted == len(together)


@pytest.mark.exact
def test_a_square_on_the_lattice_has_exactly_its_area_in_points() -> None:
    square = np.array([[0.0, 0.0], [9e-3, 0.0], [9e-3, 9e-3], [0.0, 9e-3]])
    points = hatch_points_m([square], pitch_m=15e-6, angle_rad=0.0)
    assert len(points) == 600 * 600


@pytest.mark.exact
def test_the_counted_area_converges_as_lattice_counting_must() -> None:
    """Discs of about one size in random places: variance of the error is 4 zeta(3/2) beta(3/2) L / (4 pi^3).

    That times pitch^3, from the transform of a disc, whose square falls as L / (4 pi^3 k^3), summed over the
    square lattice; L is the circumference. So the error falls as pitch^1.5.
    """
    beta = (zeta(1.5, 0.25) - zeta(1.5, 0.75)) / 4**1.5
    rng = np.random.default_rng(5)
    pitches = np.array([0.2, 0.1, 0.05, 0.025])
    errors = []
    for pitch in pitches:
        discs = [circle(rng.uniform(0.7, 1.3), middle=tuple(rng.uniform(-1, 1, 2))) for _ in range(600)]
        counts = [len(hatch_points_m([disc], pitch_m=pitch, angle_rad=0.7)) for disc in discs]
        errors.append(np.std(pitch**2 * np.array(counts) - [region_of([disc]).area for disc in discs]))
    rate = np.polyfit(np.log(pitches), np.log(errors), 1)[0]
    expected = np.sqrt(zeta(1.5) * beta / math.pi**3 * 2.0 * math.pi * pitches**3)
    # 600 draws give a standard deviation to 1 / sqrt(1200), about 3 %; four times that for any of four.
    assert np.abs(np.array(errors) / expected - 1.0).max() < 0.12
    assert abs(rate - 1.5) < 0.06


@given(angles)
def test_rows_run_to_and_fro_a_pitch_apart(angle: float) -> None:
    pitch = 0.05
    points = hatch_points_m([circle(1.0)], pitch_m=pitch, angle_rad=angle)
    along = points @ [math.cos(angle), math.sin(angle)] / pitch
    row = np.rint(points @ [-math.sin(angle), math.cos(angle)] / pitch)
    assert np.all(np.diff(row) >= 0)
    for number in np.unique(row):
        steps = np.diff(along[row == number])
        assert np.allclose(steps, -1.0 if number % 2 else 1.0, atol=ROUNDING)


@pytest.mark.exact
def test_an_inset_square_has_the_inset_area() -> None:
    square = np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]])
    points = hatch_points_m([square], pitch_m=0.01, angle_rad=0.0, inset_m=0.1)
    assert points.min() >= 0.1 - 1e-12
    assert points.max() < 0.9
    assert len(points) == 80 * 80


@pytest.mark.exact
def test_a_hole_grows_when_the_region_is_drawn_in() -> None:
    rings = inset_rings([circle(1.0, vertices=2000), circle(0.4, vertices=2000)], inset_m=0.1)
    assert region_of(rings).area == pytest.approx(math.pi * (0.9**2 - 0.5**2), rel=1e-3)


def test_nothing_is_left_of_a_region_narrower_than_twice_its_inset() -> None:
    sliver = np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 0.15], [0.0, 0.15]])
    assert hatch_points_m([sliver], pitch_m=0.01, angle_rad=0.3, inset_m=0.1).shape == (0, 2)


def test_an_open_path_gets_both_its_ends() -> None:
    path = np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 0.95]])
    points = path_points_m(path, pitch_m=0.1, closed=False)
    assert len(points) == 21  # 1.95 is nearer to 20 steps than to 19, at 0.0975 each
    assert np.allclose(points[[0, -1]], path[[0, -1]])
    assert np.allclose(np.hypot(*np.diff(points[:10], axis=0).T), 0.0975)


def test_a_closed_path_is_walked_once_and_evenly() -> None:
    points = path_points_m(circle(1.0, vertices=5000), pitch_m=0.01, closed=True)
    gaps = np.hypot(*(points - np.roll(points, 1, axis=0)).T)
    assert len(points) == round(2.0 * math.pi / 0.01)
    assert gaps == pytest.approx(2.0 * math.pi / len(points), rel=1e-4)


@pytest.mark.parametrize("pitch", [0.0, -1e-6, math.nan, math.inf])
def test_a_pitch_must_be_positive(pitch: float) -> None:
    with pytest.raises(OutOfRange, match="must be positive"):
        hatch_points_m([circle(1.0)], pitch_m=pitch, angle_rad=0.0)


def test_too_many_points_are_refused_before_they_are_made() -> None:
    with pytest.raises(OutOfRange, match="Widen the pitch"):
        hatch_points_m([circle(1.0)], pitch_m=1e-4, angle_rad=0.0)
    with pytest.raises(OutOfRange, match="Widen the pitch"):
        path_points_m(circle(1.0), pitch_m=6.0 / hatch.MOST_POINTS, closed=True)
