"""Hold the part's picture to its scale, its samples and its cut."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from farface.kernel import Malformed
from farface.report.depth_cut import within_share
from farface.report.pass_sample import corners_m, sample_way
from farface.report.plan_view import passes_caption, passes_svg
from report_views import HOSTILE, drawn, found, hatch, plan_view, points, scales_px_per_m, words

READ_OFF = 1e-3  # relative, coordinates and bar ends are rounded to 0.01 px


@pytest.mark.drawn_truth
@pytest.mark.parametrize("narrow", [False, True])
def test_the_part_is_to_scale_both_ways(narrow: bool) -> None:
    root = drawn(passes_svg(plan_view(), narrow=narrow))
    corners = points(found(root, "shape")[0])
    (px_per_m,) = scales_px_per_m(root)
    assert np.ptp(corners, axis=0) / px_per_m == pytest.approx([9e-3, 6e-3], rel=READ_OFF)


@pytest.mark.drawn_truth
def test_the_cut_lies_where_the_axes_say() -> None:
    root = drawn(passes_svg(plan_view()))
    cut = found(root, "cut")[0]
    beside = [n for n in cut.iter() if n.get("text-anchor") == "end" and _is_number(n.text)]
    ticks = [(float(n.text or 0), float(n.get("y", 0)) - 4) for n in beside]
    (d0, y0), (d1, y1) = ticks[0], ticks[-1]
    wanted = points(found(cut, "wanted")[0])
    deepest_um = d0 + (wanted[:, 1].max() - y0) * (d1 - d0) / (y1 - y0)
    assert deepest_um == pytest.approx(100.0, rel=READ_OFF)
    expected = points(found(cut, "expected")[0])
    assert (expected[:, 1].max() - y0) / (wanted[:, 1].max() - y0) == pytest.approx(1.02, rel=READ_OFF)


def _is_number(text: str | None) -> bool:
    return (text or "").replace(".", "", 1).isdigit()


@pytest.mark.exact
def test_a_path_keeps_its_corners_only() -> None:
    path = hatch(width_m=9e-3, lines=3, gap_m=1e-3)
    assert corners_m(path) == pytest.approx(np.array([[0, 0], [9, 0], [9, 1], [0, 1], [0, 2], [9, 2]]) * 1e-3)
    there_and_back = np.array([[0.0, 0.0], [1.0, 0.0], [0.5, 0.0]])
    assert len(corners_m(there_and_back)) == 3


def test_dense_hatches_are_thinned_to_lines_that_can_be_told_apart() -> None:
    dense = hatch(width_m=9e-3, lines=600, gap_m=15e-6)
    px_per_m = 40e3
    d = sample_way(dense, px_per_m, lambda x, y: (x * px_per_m, y * px_per_m))
    rows = np.unique([float(part.split("L")[0].split()[1]) for part in d.split("M")[1:]])
    assert 0.8 * 600 * 15e-6 * px_per_m / 4 < len(rows) <= 600 * 15e-6 * px_per_m / 4
    assert np.diff(rows).min() >= 4.0 - 0.02


def test_an_outline_is_followed_not_hatched() -> None:
    angle = np.linspace(0.0, 2 * np.pi, 5000)
    circle = 4e-3 * np.column_stack([np.cos(angle), np.sin(angle)])
    d = sample_way(circle, 4e4, lambda x, y: (x * 4e4, y * 4e4))
    assert d.count("M") == 1
    radii = np.hypot(*np.array([float(v) for v in d[1:].replace("L", " ").split()]).reshape(-1, 2).T)
    assert radii == pytest.approx(160.0, abs=0.02)


@pytest.mark.exact
def test_the_share_within_tolerance_counts_what_should_be_deep() -> None:
    view = plan_view()
    assert view.cut is not None
    assert within_share(view.cut) == 1.0  # 102 um where 100 +- 5 um is wanted
    good = np.arange(120) < 60
    off = replace(view.cut, median_m=np.where(good, 1.0, 1.2) * view.cut.median_m)
    assert within_share(off) == pytest.approx(float(np.mean(good[view.cut.wanted_m > 0.0])))
    assert "On 100%" in passes_caption(view)


def test_a_line_stays_open() -> None:
    ruling = np.array([[1e-3, 1e-3], [1e-3, 5e-3], [2e-3, 5e-3]])
    shape = plan_view().shapes[0]
    line = type(shape)(name="ruling", kind="line", depth_m=20e-6, rings_m=(ruling,))
    paths = [n.get("d", "") for n in found(drawn(passes_svg(plan_view(shapes=(shape, line)))), "shape")]
    assert [d.endswith("Z") for d in paths] == [True, False]


def test_names_of_people_stay_text() -> None:
    shape = replace(plan_view().shapes[0], name=HOSTILE)
    root = drawn(passes_svg(plan_view(title=HOSTILE, shapes=(shape,))))
    assert not [n for n in root.iter() if n.tag.endswith("script")]


def test_an_uncalibrated_part_says_so() -> None:
    view = plan_view(calibrated=False)
    assert "not calibrated: prior only" in words(drawn(passes_svg(view)))
    assert "try it on a coupon first" in passes_caption(view)


@pytest.mark.parametrize("shapes", [(), "points"])
def test_a_part_without_size_is_refused(shapes: Any) -> None:
    shape = replace(plan_view().shapes[0], rings_m=(np.zeros((4, 2)),))
    with pytest.raises(Malformed):
        passes_svg(plan_view(shapes=(shape,) if shapes else ()))
