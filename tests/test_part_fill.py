"""Filling crossing outlines, against the textbook figures of the two fill rules."""

import math

import numpy as np
import pytest

from farface.part.fill import FillRule, crosses_itself, filled_rings, winding_number
from farface.part.shapes import region_of

SQUARE = np.array([[0.0, 0.0], [3.0, 0.0], [3.0, 3.0], [0.0, 3.0]])
INNER = np.array([[1.0, 1.0], [2.0, 1.0], [2.0, 2.0], [1.0, 2.0]])
BOW_TIE = np.array([[0.0, 0.0], [2.0, 2.0], [2.0, 0.0], [0.0, 2.0]])


def pentagram() -> np.ndarray:
    turn = 2.0 * math.pi * 2.0 / 5.0 * np.arange(5)
    return np.column_stack((np.sin(turn), np.cos(turn)))


@pytest.mark.exact
@pytest.mark.parametrize(
    ("rule", "inner", "area"),
    [
        ("nonzero", INNER, 9.0),
        ("nonzero", INNER[::-1], 8.0),
        ("evenodd", INNER, 8.0),
        ("evenodd", INNER[::-1], 8.0),
    ],
)
def test_an_inner_outline_is_a_hole_as_its_rule_says(rule: FillRule, inner: np.ndarray, area: float) -> None:
    assert region_of(filled_rings([SQUARE, inner], rule)).area == pytest.approx(area)


@pytest.mark.exact
def test_a_pentagram_has_its_middle_only_under_nonzero() -> None:
    # The inner pentagon has a circumradius smaller by the golden ratio squared.
    golden = (1.0 + math.sqrt(5.0)) / 2.0
    middle = 2.5 * math.sin(2.0 * math.pi / 5.0) / golden**4
    whole = region_of(filled_rings([pentagram()], "nonzero")).area
    assert whole - region_of(filled_rings([pentagram()], "evenodd")).area == pytest.approx(middle)


@pytest.mark.exact
def test_a_bow_tie_keeps_both_its_triangles() -> None:
    assert region_of(filled_rings([BOW_TIE], "nonzero")).area == pytest.approx(2.0)
    assert crosses_itself(BOW_TIE)
    assert not crosses_itself(SQUARE)


def test_outlines_without_area_fill_nothing() -> None:
    assert filled_rings([np.array([[0.0, 0.0], [1.0, 0.0], [2.0, 0.0]])], "nonzero") == ()


@pytest.mark.exact
def test_the_winding_number_counts_turns_and_their_sense() -> None:
    places = np.array([[1.5, 1.5], [0.5, 0.5], [5.0, 0.5]])
    assert winding_number(places, outlines_m=[SQUARE, INNER]).tolist() == [2, 1, 0]
    assert winding_number(places, outlines_m=[SQUARE, INNER[::-1]]).tolist() == [0, 1, 0]
    assert winding_number(np.zeros((1, 2)), outlines_m=[pentagram()]).tolist() == [-2]


def test_a_thousand_islands_are_one_region() -> None:
    rings = [SQUARE + np.array([4.0 * i, 4.0 * j]) for i in range(30) for j in range(30)]
    assert region_of(filled_rings(rings, "nonzero")).area == pytest.approx(900 * 9.0)
