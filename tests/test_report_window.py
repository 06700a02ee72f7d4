"""Hold the window to its odds: every cell by its own mark and shade, the prior veiled, contours exact."""

from itertools import combinations
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from farface.kernel import Malformed
from farface.records import SEEN
from farface.report.contours import contour
from farface.report.look import COLOURS, SEEN_WORDS
from farface.report.outcome_marks import mark_way, outline_way
from farface.report.window_depth import depth_row
from farface.report.window_map import window_caption, window_svg
from farface.report.window_odds import shade
from farface.report.window_view import STEADY, likeliest
from report_views import HOSTILE, drawn, found, window_view, words

# OKLab distance between any two outcomes at full shade. About 0.02 is just noticeable side by side; five
# times that tells scattered cells apart. Tritan vision is rare (some 1 in 10,000) and gets four.
APART = {"usual": 0.1, "protan": 0.1, "deutan": 0.1, "tritan": 0.08}


def _subpaths(d: str) -> int:
    return d.count("M")


@pytest.mark.drawn_truth
def test_cells_cover_the_map_in_proportion_to_outcomes() -> None:
    view = window_view()
    cells = found(drawn(window_svg(view)), "cells")[0]
    areas = dict.fromkeys(SEEN, 0.0)
    for node in cells:
        seen = node.get("class", "").removeprefix("ff-")
        for part in node.get("d", "").split("M")[1:]:
            wide, high = part.split("h")[1].split("v")
            areas[seen] += float(wide) * float(high.split("H")[0])
    total = sum(areas.values())
    for index, seen in enumerate(SEEN):
        assert areas[seen] / total == pytest.approx(float(np.mean(likeliest(view) == index)), abs=2e-3)


@pytest.mark.drawn_truth
def test_each_outcome_has_a_mark_of_its_own_in_every_cell() -> None:
    view = window_view()
    odds = found(drawn(window_svg(view)), "odds")[0]
    marks = [n for n in odds.iter() if n.get("class") in ("ff-glyph", "ff-glyph-open")]
    drawn_marks = sum(_subpaths(n.get("d", "")) for n in marks)
    crosses = int(np.sum(likeliest(view) == SEEN.index("broken")))
    assert drawn_marks == likeliest(view).size + crosses  # a cross is two strokes
    shapes = {mark_way(seen, (0.0, 0.0), 10.0) for seen in SEEN}
    assert len(shapes) == len(SEEN)
    assert set(SEEN_WORDS.values()) <= {n.text for n in drawn(window_svg(view)).iter()}


def test_shade_deepens_with_odds_from_barely_tinted_to_full() -> None:
    shades = [shade(p) for p in np.linspace(1 / 6, 1.0, 50)]
    assert shades == sorted(shades)
    assert shades[0] < 0.2
    assert shades[-1] == 1.0


def test_an_uncalibrated_map_looks_uncalibrated() -> None:
    root = drawn(window_svg(window_view(calibrated=False)))
    assert len(found(root, "veiled")) == 3
    assert words(root).count("not calibrated: prior only") == 2  # in the heading and across the map
    assert words(root).count("prior only: ") == 2  # over the other two panels
    assert not found(root, "outline")
    known = drawn(window_svg(window_view()))
    assert not found(known, "veiled")
    assert "prior only" not in words(known)
    assert found(known, "outline")


@pytest.mark.exact
def test_the_outline_surrounds_marked_cells() -> None:
    # An L of three unit cells has a boundary of 8 edges.
    d = outline_way([[True, False], [True, True]], [0.0, 1.0, 2.0], [0.0, 1.0, 2.0])
    assert _subpaths(d) == 8


@pytest.mark.exact
def test_a_contour_of_a_cone_is_a_circle() -> None:
    errors = []
    for steps in (40, 80):
        at = np.linspace(-2.0, 2.0, steps + 1)
        lines = contour(np.hypot(*np.meshgrid(at, at)) ** 2, 1.0)
        assert len(lines) == 1
        assert lines[0][0] == lines[0][-1]
        radii = np.hypot(*(np.array(lines[0]).T * 4.0 / steps - 2.0))
        errors.append(np.abs(radii - 1.0).max())
    assert errors[0] / errors[1] == pytest.approx(4.0, rel=0.3)  # second order in the step


@pytest.mark.exact
def test_contours_agree_with_a_second_implementation() -> None:
    contourpy = pytest.importorskip("contourpy")
    values = np.random.default_rng(3).normal(size=(14, 11))
    for level in (-0.5, 0.0, 0.8):
        theirs = contourpy.contour_generator(z=values).lines(level)
        ours = contour(values, level)
        for lines in (ours, theirs):
            lines[:] = [np.asarray(line) for line in lines]
        places = [np.unique(np.round(np.vstack(lines), 9), axis=0) for lines in (ours, theirs)]
        assert np.array_equal(places[0], places[1])


@pytest.mark.exact
def test_contours_step_over_what_is_no_number_and_take_infinity_as_far() -> None:
    values = np.array([[0.0, 0.0, np.nan], [0.0, 2.0, np.inf], [0.0, 0.0, np.inf]])
    lines = contour(values, 1.0)
    places = np.vstack(lines)
    assert np.isfinite(places).all()
    assert not contour(np.full((3, 3), np.nan), 1.0)


@pytest.mark.exact
@pytest.mark.parametrize("corners", [[[0.0, 1.0], [1.0, 0.0]], [[1.0, 0.0], [0.0, 1.0]]])
def test_a_saddle_keeps_its_high_corners_apart(corners: list[list[float]]) -> None:
    lines = contour(np.array(corners), 0.5)
    assert len(lines) == 2
    for (x0, y0), (x1, y1) in lines:
        middle = corners[round((y0 + y1) / 2)][round((x0 + x1) / 2)]  # the corner that the line cuts off
        assert middle == 1.0


@given(st.integers(2, 9), st.integers(2, 9), st.integers(0, 10_000))
def test_open_contours_end_on_the_border(rows: int, columns: int, seed: int) -> None:
    lines = contour(np.random.default_rng(seed).normal(size=(rows, columns)), 0.1)
    for line in lines:
        if line[0] != line[-1]:
            for column, row in (line[0], line[-1]):
                assert column in (0.0, columns - 1.0) or row in (0.0, rows - 1.0)


def _linear(colour: str) -> np.ndarray:
    code = np.array([int(colour[k : k + 2], 16) / 255 for k in (1, 3, 5)])
    return np.where(code <= 0.04045, code / 12.92, ((code + 0.055) / 1.055) ** 2.4)


def _contrast(first: str, second: str) -> float:
    """Give the contrast ratio of the web accessibility guidelines, version 2."""
    low, high = sorted(float(_linear(c) @ [0.2126, 0.7152, 0.0722]) for c in (first, second))
    return (high + 0.05) / (low + 0.05)


# Full-strength matrices of Machado, Oliveira and Fernandes, IEEE Trans. Vis. Comput. Graph. 15 (2009) 1291.
PROTAN = [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]]
DEUTAN = [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]]
TRITAN = [[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602], [0.004733, 0.691367, 0.303900]]
VISION = {"usual": np.eye(3), "protan": PROTAN, "deutan": DEUTAN, "tritan": TRITAN}
# OKLab, a perceptual colour space: linear sRGB to cone-like response to lightness and two opponent axes.
TO_CONES = [
    [0.4122214708, 0.5363325363, 0.0514459929],
    [0.2119034982, 0.6806995451, 0.1073969566],
    [0.0883024619, 0.2817188376, 0.6299787005],
]
TO_LAB = [
    [0.2104542553, 0.7936177850, -0.0040720468],
    [1.9779984951, -2.4285922050, 0.4505937099],
    [0.0259040371, 0.7827717662, -0.8086757660],
]


@pytest.mark.from_memory
@pytest.mark.parametrize("side", [0, 1])
@pytest.mark.parametrize("vision", VISION)
def test_outcomes_stay_apart_for_every_colour_vision(vision: str, side: int) -> None:
    def lab(seen: str) -> np.ndarray:
        seen_rgb = np.clip(np.array(VISION[vision]) @ _linear(COLOURS[seen][side]), 0.0, 1.0)
        return np.array(TO_LAB) @ np.cbrt(np.array(TO_CONES) @ seen_rgb)

    distances = {pair: float(np.linalg.norm(lab(pair[0]) - lab(pair[1]))) for pair in combinations(SEEN, 2)}
    assert min(distances.values()) > APART[vision], min(distances, key=lambda pair: distances[pair])


@pytest.mark.from_memory
@pytest.mark.parametrize("side", [0, 1])
def test_text_and_marks_have_contrast(side: int) -> None:
    look = {name: pair[side] for name, pair in COLOURS.items()}
    for text in ("ink", "muted", "accent"):
        assert _contrast(look[text], look["paper"]) >= 4.5
    for seen in SEEN:
        assert _contrast(look["ink"], look[seen]) >= 3.0


def test_the_caption_names_the_best_place() -> None:
    view = window_view()
    row, column = np.unravel_index(int(np.argmax(view.odds[:, :, STEADY])), view.odds.shape[:2])
    said = window_caption(view)
    assert f"pulse energy {view.x.values[column]:.3g} mJ and rate {view.y.values[row]:.3g} kHz" in said
    assert f"{view.odds[row, column, STEADY]:.0%}" in said
    hopeless = np.zeros_like(view.odds)
    hopeless[..., SEEN.index("runaway")] = 1.0
    assert "nowhere" in window_caption(window_view(odds=hopeless))
    assert "run a coupon" in window_caption(window_view(calibrated=False))


def test_the_depth_panel_shows_the_row_of_the_chosen_point() -> None:
    assert depth_row(window_view()) == 2  # 46 kHz of 10, 28, 46, ...
    said = words(drawn(window_svg(window_view())))
    assert "depth per pass at rate 46 kHz" in said
    nothing = np.zeros((6, 7))
    bare = window_view(depth_median_m=nothing, depth_low_m=nothing, depth_high_m=nothing)
    assert "no depth expected" in words(drawn(window_svg(bare)))


def test_margins_without_runaway_are_drawn_without_lines() -> None:
    for value in (np.nan, np.inf):
        root = drawn(window_svg(window_view(margin=np.full((6, 7), value))))
        assert not found(root, "margin")


@pytest.mark.parametrize("narrow", [False, True])
def test_names_of_people_stay_text(narrow: bool) -> None:
    view = window_view(title=HOSTILE)
    point = view.points[0].__class__(x=0.4, y=46.0, label=HOSTILE)
    axis = view.x.__class__(name=HOSTILE, unit="<b>", values=view.x.values)
    root = drawn(window_svg(window_view(title=HOSTILE, points=(point,), x=axis), narrow=narrow))
    assert not [n for n in root.iter() if n.tag.rpartition("}")[2] in ("script", "b")]


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"margin": np.ones((7, 6))}, "margin has shape"),
        ({"odds": np.ones((6, 7, 5)) / 5}, "odds have shape"),
        ({"odds": np.full((6, 7, 6), np.nan)}, "not finite"),
        ({"odds": np.full((6, 7, 6), 2.0)}, "outside 0 to 1"),
    ],
)
def test_arrays_that_do_not_fit_are_refused(change: dict[str, Any], says: str) -> None:
    with pytest.raises(Malformed, match=says):
        window_svg(window_view(**change))
