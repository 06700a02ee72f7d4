"""DXF drawings: the same part as the SVG of it, every entity read right, every refusal one sentence."""

import io
import math
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import ezdxf
import numpy as np
import pytest
import shapely
from ezdxf.math import BSpline
from ezdxf.xclip import XClip
from hypothesis import given
from hypothesis import strategies as st
from shapely import LineString, Point, Polygon

from farface.files import dxf_blocks
from farface.files.chains import joined
from farface.files.drawing import parse_drawing, read_drawing
from farface.files.drawing_dxf import parse_dxf
from farface.files.drawing_guard import MOST_BYTES
from farface.files.outline import CHORD_ERROR_M, Outline
from farface.kernel import FarfaceError, Malformed, Missing, OutOfRange
from farface.part.hatch import hatch_points_m
from farface.part.shapes import Drawing, Shape, region_of
from fuzzing import HANG_S

# Of lengths and areas of straight outlines: rounding, and the 16 digits that DXF is written with.
STRAIGHT = 1e-9
# The share by which a disc of 1 mm radius shrinks when chords leave it by 1 um; an arc by a quarter of it.
CURVED = 4.0 / 3.0 * 1e-3
# The SVG library takes a millimetre as 3.7795296 px where 96 / 25.4 is exact: 5.4e-7 of a length.
SVG_SCALE = 6e-7
MM_M = 1e-3

Draw = Callable[[Any], object]


def dxf(draw: Draw, *, units: int = 4, version: str = "R2010") -> bytes:
    document = ezdxf.new(version, units=units)
    draw(document)
    written = io.StringIO()
    document.write(written)
    return written.getvalue().encode()


def read(draw: Callable[[Any], object], **how: Any) -> Drawing:
    """Read what was drawn in the model space."""
    return parse_dxf(dxf(lambda document: draw(document.modelspace()), **how))


def only(draw: Callable[[Any], object], **how: Any) -> Shape:
    (shape,) = read(draw, **how).shapes
    return shape


def area_mm2(shape: Shape) -> float:
    return region_of(shape.paths_m).area / MM_M**2


def length_mm(shape: Shape) -> float:
    return sum(LineString(path).length for path in shape.paths_m) / MM_M


def corners(shape: Shape) -> set[tuple[float, float]]:
    return {(round(x, 9), round(y, 9)) for x, y in np.vstack(shape.paths_m) / MM_M}


SQUARE = [(0.0, 0.0), (2.0, 0.0), (2.0, 1.0), (0.0, 1.0)]


def rectangle(space: Any, layer: str = "field", close: bool = True) -> None:
    space.add_lwpolyline(SQUARE, close=close, dxfattribs={"layer": layer})


# The same part from either format


PART_SVG = b"""
<svg xmlns="http://www.w3.org/2000/svg" width="20mm" height="20mm" viewBox="-10 -10 20 20">
  <path id="field_100um" fill-rule="evenodd" data-depth-um="100" d="M-4 -3H4V3H-4Z M-1 -1H1V1H-1Z"/>
  <path id="ruling_120um" data-depth-um="120" fill="none" stroke="black" d="M-3 2H3 M-3 -2L3 -2.5"/>
  <path id="cut" fill="none" stroke="black" data-cut="yes" d="M-8 -8H8V8H-8Z"/>
  <circle id="well_5um" cx="7" cy="-7" r="0.5" data-depth-um="5"/>
</svg>"""


def part(space: Any) -> None:
    field, ruling = {"layer": "field_100um"}, {"layer": "ruling_120um"}
    space.add_lwpolyline([(-4, -3), (4, -3), (4, 3), (-4, 3)], close=True, dxfattribs=field)
    for one, other in (((-1, -1), (1, -1)), ((1, 1), (1, -1)), ((1, 1), (-1, 1)), ((-1, -1), (-1, 1))):
        space.add_line(one, other, dxfattribs=field)
    space.add_line((-3, -2), (3, -2), dxfattribs=ruling)
    space.add_line((-3, 2), (3, 2.5), dxfattribs=ruling)
    space.add_polyline2d([(-8, -8), (8, -8), (8, 8), (-8, 8)], close=True, dxfattribs={"layer": "cut"})
    space.add_circle((7, 7), 0.5, dxfattribs={"layer": "well_5um"})


@pytest.mark.exact
def test_dxf_and_svg_of_a_part_give_the_same_shapes() -> None:
    ours, theirs = ({shape.name: shape for shape in drawing.shapes}
                    for drawing in (read(part), parse_drawing(PART_SVG)))  # fmt: skip
    assert ours.keys() == theirs.keys()
    for name, shape in ours.items():
        other = theirs[name]
        assert (shape.kind, len(shape.paths_m)) == (other.kind, len(other.paths_m))
        assert shape.depth_m == other.depth_m
        if shape.kind == "line":
            assert length_mm(shape) == pytest.approx(length_mm(other), rel=SVG_SCALE)
        else:
            apart_m = region_of(shape.paths_m).symmetric_difference(region_of(other.paths_m)).area
            around_m = region_of(other.paths_m).length
            assert apart_m < around_m * (CHORD_ERROR_M + SVG_SCALE * 10.0 * MM_M)
    assert area_mm2(ours["field_100um"]) == pytest.approx(44.0, rel=STRAIGHT)
    assert area_mm2(ours["cut"]) == pytest.approx(256.0, rel=STRAIGHT)
    assert length_mm(ours["ruling_120um"]) == pytest.approx(6.0 + math.hypot(6.0, 0.5), rel=STRAIGHT)


@pytest.mark.exact
def test_dxf_and_svg_of_a_pocket_give_the_same_points_to_fire() -> None:
    ours, theirs = read(part).shapes[0], parse_drawing(PART_SVG).shapes[0]
    points_m = [hatch_points_m(one.paths_m, pitch_m=15e-6, angle_rad=0.3) for one in (ours, theirs)]
    # A few lie on the outline to within the SVG library's scale.
    assert len(points_m[0]) == pytest.approx(len(points_m[1]), abs=10)


# Entities


@pytest.mark.exact
@pytest.mark.parametrize(
    ("draw", "kind", "measure_mm"),
    [
        (lambda s: s.add_line((1, 1), (4, 5)), "line", 5.0),
        (lambda s: s.add_lwpolyline([(0, 0), (3, 0), (3, 4)]), "line", 7.0),
        (lambda s: s.add_lwpolyline(SQUARE, close=True), "pocket", 2.0),
        (lambda s: s.add_lwpolyline([*SQUARE, SQUARE[0]]), "pocket", 2.0),
        (lambda s: s.add_polyline2d([(0, 0), (3, 0), (3, 4)]), "line", 7.0),
        (lambda s: s.add_polyline2d(SQUARE, close=True), "pocket", 2.0),
        (lambda s: s.add_polyline3d([(0, 0, 0), (3, 0, 0), (3, 4, 0)]), "line", 7.0),
        (lambda s: s.add_polyline3d([(x, y, 0) for x, y in SQUARE], close=True), "pocket", 2.0),
        (lambda s: s.add_arc((1, 1), 2.0, 350, 80), "line", math.pi),
        (lambda s: s.add_circle((1, 1), 2.0), "pocket", 4.0 * math.pi),
        (lambda s: s.add_ellipse((1, 1), (0, 2), 0.5), "pocket", 2.0 * math.pi),
        (lambda s: s.add_ellipse((1, 1), (2, 0), 1.0, 0.0, math.pi / 2), "line", math.pi),
        (lambda s: s.add_lwpolyline([(0, 0, 1), (2, 0, 1)], format="xyb", close=True), "pocket", math.pi),
        (lambda s: s.add_lwpolyline([(0, 0, -1), (2, 0, 0)], format="xyb"), "line", math.pi),
        (lambda s: s.add_polyline2d([(0, 0, 1), (2, 0, 1)], format="xyb", close=True), "pocket", math.pi),
        (lambda s: s.add_open_spline([(0, 0), (1, 0), (2, 0), (3, 0)]), "line", 3.0),
    ],
)  # fmt: skip
def test_every_entity_has_its_length_or_area(draw: Draw, kind: str, measure_mm: float) -> None:
    shape = only(draw)
    assert shape.kind == kind
    found = length_mm(shape) if kind == "line" else area_mm2(shape)
    curved = measure_mm != round(measure_mm)
    assert found == pytest.approx(measure_mm, rel=CURVED if curved else STRAIGHT)


@pytest.mark.exact
def test_arcs_go_the_way_their_numbers_say() -> None:
    def ends(draw: Draw) -> list[tuple[float, float]]:
        (path,) = only(draw).paths_m
        return [(round(float(x), 6), round(float(y), 6)) for x, y in path[[0, len(path) // 2, -1]] / MM_M]

    up = (1.0, 1.0)
    assert ends(lambda s: s.add_arc((1, 0), 1, 0, 180)) == [(2.0, 0.0), up, (0.0, 0.0)]
    # A positive bulge turns left: from left to right it sags.
    sag = lambda bulge: ends(lambda s: s.add_lwpolyline([(0, 0, bulge), (2, 0, 0)], format="xyb"))  # noqa: E731
    assert sag(1.0) == [(0.0, 0.0), (1.0, -1.0), (2.0, 0.0)]
    assert sag(-1.0) == [(0.0, 0.0), (1.0, 1.0), (2.0, 0.0)]
    # Seen from below, x is turned round.
    below = {"extrusion": (0, 0, -1)}
    assert ends(lambda s: s.add_arc((1, 0), 1, 0, 180, dxfattribs=below)) == [
        (-2.0, 0.0), (-1.0, 1.0), (0.0, 0.0)
    ]  # fmt: skip


@pytest.mark.exact
@pytest.mark.parametrize("radius_mm", [0.05, 1.0, 40.0])
def test_arcs_stay_within_a_micrometre_of_their_chords(radius_mm: float) -> None:
    (path,) = only(lambda s: s.add_circle((0, 0), radius_mm)).paths_m
    middles_m = np.hypot(*(0.5 * (path + np.roll(path, 1, axis=0))).T)
    assert np.hypot(*path.T) == pytest.approx(radius_mm * MM_M, rel=STRAIGHT)
    assert middles_m.min() > radius_mm * MM_M - CHORD_ERROR_M


@pytest.mark.exact
@pytest.mark.parametrize("weights", [None, [1.0, 3.0, 0.5, 2.0, 1.0, 1.0, 4.0]])
def test_splines_follow_a_second_implementation(weights: list[float] | None) -> None:
    places = [(0, 0), (1, 4), (2, -3), (4, 5), (5, 0), (8, 1), (9, -2)]
    if weights is None:
        shape = only(lambda s: s.add_open_spline(places))
    else:
        shape = only(lambda s: s.add_rational_spline(places, weights))
    true_mm = np.array([place.xyz[:2] for place in BSpline(places, 4, weights=weights).approximate(2000)])
    found_mm = shape.paths_m[0] / MM_M
    # Between 2000 straight steps the second implementation is itself off by less than 0.02 um.
    assert shapely.distance(LineString(true_mm), shapely.points(found_mm)).max() < 2e-5
    assert shapely.distance(LineString(found_mm), shapely.points(true_mm)).max() < 1.05e-3


def test_a_spline_through_points_meets_them() -> None:
    places = [(0, 0), (1, 2), (3, 1), (4, 4)]
    line = LineString(only(lambda s: s.add_spline(places)).paths_m[0] / MM_M)
    assert max(line.distance(Point(place)) for place in places) < 1.1e-3


# Joining


@pytest.mark.exact
def test_loose_lines_and_arcs_join_to_an_outline() -> None:
    def slot(space: Any) -> None:
        space.add_line((0, 0), (4, 0))
        space.add_line((0, 2.0004), (4, 2))
        space.add_arc((4, 1), 1, -90, 90)
        space.add_arc((0, 1), 1, 90, 270)

    shape = only(slot)
    assert shape.kind == "pocket"
    assert area_mm2(shape) == pytest.approx(8.0 + math.pi, rel=1e-3)


def test_ends_further_apart_stay_open() -> None:
    gap = [((0, 0), (2, 0)), ((2, 0.0015), (2, 2)), ((2, 2), (0, 0))]
    shape = only(lambda s: [s.add_line(*one) for one in gap])
    assert (shape.kind, len(shape.paths_m)) == ("line", 1)


@pytest.mark.exact
@given(st.permutations(range(6)), st.lists(st.booleans(), min_size=6, max_size=6))
def test_joining_minds_neither_order_nor_direction(order: list[int], turned: list[bool]) -> None:
    hexagon = np.array([(math.cos(k), math.sin(k)) for k in range(6)]) * MM_M
    runs = [np.array([hexagon[k], hexagon[(k + 1) % 6]])[:: -1 if turned[k] else 1] for k in order]
    (ring,), crossings = joined([Outline(vertices_m=run, closed=False) for run in runs])
    assert (ring.closed, len(ring.vertices_m), crossings) == (True, 6, 0)
    assert Polygon(ring.vertices_m).area == pytest.approx(Polygon(hexagon).area, rel=STRAIGHT)


def test_where_three_ends_meet_none_is_joined_and_that_is_said() -> None:
    found = read(lambda s: [s.add_line((0, 0), end) for end in ((1, 0), (0, 1), (-1, -1))])
    assert len(found.shapes[0].paths_m) == 3
    assert found.repaired == ('"0" was not joined where more than two ends meet (places: 1).',)


def test_what_is_drawn_twice_is_kept_once() -> None:
    def twice(space: Any) -> None:
        rectangle(space)
        space.add_lwpolyline(SQUARE[2:] + SQUARE[:2], close=True, dxfattribs={"layer": "field"})
        space.add_line((5, 5), (6, 5))
        space.add_line((6, 5), (5, 5))

    found = read(twice)
    assert area_mm2(found.shapes[0]) == pytest.approx(2.0, rel=STRAIGHT)
    assert length_mm(found.shapes[1]) == pytest.approx(1.0, rel=STRAIGHT)
    assert [text.endswith("doubles left out: 1.") for text in found.repaired] == [True, True]


# Blocks


@pytest.mark.exact
def test_blocks_are_moved_turned_stretched_and_nested() -> None:
    def draw(document: Any) -> None:
        inner = document.blocks.new("inner", base_point=(1, 0))
        inner.add_line((1, 0), (2, 0))
        outer = document.blocks.new("outer")
        outer.add_blockref("inner", (0, 0), dxfattribs={"rotation": 90})
        document.modelspace().add_blockref("outer", (5, 5), dxfattribs={"xscale": 2, "yscale": 3})
        document.modelspace().add_blockref("outer", (-5, 0), dxfattribs={"xscale": -1, "rotation": 90})

    (shape,) = parse_dxf(dxf(draw)).shapes
    assert corners(shape) == {(5.0, 5.0), (5.0, 8.0), (-5.0, 0.0), (-6.0, 0.0)}


@pytest.mark.exact
def test_a_stretched_circle_is_an_ellipse() -> None:
    def draw(document: Any) -> None:
        document.blocks.new("round").add_circle((0, 0), 1)
        document.modelspace().add_blockref("round", (0, 0), dxfattribs={"xscale": 4})

    (shape,) = parse_dxf(dxf(draw)).shapes
    assert area_mm2(shape) == pytest.approx(4.0 * math.pi, rel=1.5e-3)
    assert np.abs(shape.paths_m[0]).max(axis=0) / MM_M == pytest.approx([4.0, 1.0], rel=1e-3)


@pytest.mark.exact
def test_a_grid_of_a_block_is_drawn_out() -> None:
    def draw(document: Any) -> None:
        document.blocks.new("dash").add_line((0, 0), (0.5, 0))
        grid = {"row_count": 2, "column_count": 3, "row_spacing": 1, "column_spacing": 2, "rotation": 90}
        document.modelspace().add_blockref("dash", (0, 0), dxfattribs=grid)

    (shape,) = parse_dxf(dxf(draw)).shapes
    starts = {(round(x, 6) + 0.0, round(y, 6) + 0.0) for x, y in (path[0] / MM_M for path in shape.paths_m)}
    assert starts == {(-float(row), 2.0 * column) for row in range(2) for column in range(3)}


def test_layer_zero_of_a_block_takes_the_layer_around_it() -> None:
    def draw(document: Any) -> None:
        block = document.blocks.new("well")
        rectangle(block, "0")
        block.add_line((5, 5), (6, 5), dxfattribs={"layer": "mark"})
        document.modelspace().add_blockref("well", (0, 0), dxfattribs={"layer": "deep_40um"})

    assert {one.name: one.kind for one in parse_dxf(dxf(draw)).shapes} == {
        "deep_40um": "pocket",
        "mark": "line",
    }


# Units, origin, layers


@pytest.mark.exact
@pytest.mark.parametrize(("units", "unit_mm"), [(4, 1.0), (5, 10.0), (6, 1000.0), (1, 25.4), (13, 1e-3)])
def test_lengths_are_in_the_drawings_unit_and_the_origin_is_kept(units: int, unit_mm: float) -> None:
    wide_mm = 0.25
    at = [(x * wide_mm / unit_mm, y * wide_mm / unit_mm) for x, y in ((1, 2), (3, 2), (3, 3))]
    found_m = only(lambda s: s.add_lwpolyline(at), units=units).paths_m[0]
    assert found_m / MM_M == pytest.approx(np.array([(0.25, 0.5), (0.75, 0.5), (0.75, 0.75)]), rel=STRAIGHT)


@pytest.mark.parametrize(
    ("layer", "kind", "depth_m"),
    [
        ("field", "pocket", None),
        ("field_100um", "pocket", 100e-6),
        ("field_2.5UM", "pocket", 2.5e-6),
        ("field_100um_old", "pocket", None),
        ("100um", "pocket", None),
        ("cut", "cut", None),
        ("CUT_outline_300um", "cut", 300e-6),
        ("haircut", "pocket", None),
    ],
)
def test_the_layers_name_makes_kind_and_depth(layer: str, kind: str, depth_m: float | None) -> None:
    shape = only(lambda s: rectangle(s, layer))
    assert (shape.name, shape.kind) == (layer, kind)
    assert shape.depth_m == (None if depth_m is None else pytest.approx(depth_m))


def test_closed_and_open_outlines_of_a_layer_are_two_shapes() -> None:
    found = read(lambda s: (rectangle(s, "a_9um"), s.add_line((5, 5), (6, 6), dxfattribs={"layer": "a_9um"})))
    assert [(one.name, one.kind) for one in found.shapes] == [("a_9um", "pocket"), ("a_9um lines", "line")]
    assert [one.depth_m for one in found.shapes] == pytest.approx([9e-6, 9e-6])


def test_what_is_not_seen_is_not_etched() -> None:
    def draw(document: Any) -> None:
        document.layers.add("off").off()
        document.layers.add("frozen").freeze()
        space = document.modelspace()
        for layer in ("off", "frozen", "on"):
            rectangle(space, layer)
        space.add_circle((9, 9), 1, dxfattribs={"invisible": 1})
        rectangle(document.paperspace(), "paper")

    assert [one.name for one in parse_dxf(dxf(draw)).shapes] == ["on"]


def test_what_has_no_outline_is_named_with_advice() -> None:
    def draw(document: Any) -> None:
        space = document.modelspace()
        rectangle(space)
        space.add_text("depth")
        space.add_mtext("depth")
        space.add_hatch()
        space.add_point((0, 0))
        document.add_xref_def("/etc/hostname", "other")
        space.add_blockref("other", (0, 0))

    found = parse_dxf(dxf(draw))
    assert len(found.shapes) == 1
    assert found.repaired == (
        "1 HATCH left out: it has no outline to etch. If it matters: the closed outline around a hatch"
        " makes the pocket.",
        "1 MTEXT left out: it has no outline to etch. If it matters: convert text to lines.",
        "1 POINT left out: it has no outline to etch.",
        "1 TEXT left out: it has no outline to etch. If it matters: convert text to lines.",
        '"other" is another drawing and was left out. Bind it into this one if it matters.',
    )


@pytest.mark.exact
def test_crossing_outlines_are_traced_anew_and_listed() -> None:
    found = read(lambda s: s.add_lwpolyline([(0, 0), (2, 2), (2, 0), (0, 2)], close=True))
    assert area_mm2(found.shapes[0]) == pytest.approx(2.0, rel=STRAIGHT)
    assert found.repaired == ('"0" crosses itself; the region it fills was traced anew.',)


# What is refused


def clipped(document: Any) -> XClip:
    """Insert a rectangle of which only a corner is meant to show."""
    rectangle(document.blocks.new("wide"))
    clip = XClip(document.modelspace().add_blockref("wide", (0, 0)))
    clip.set_block_clipping_path([(0, 0), (1, 1)])
    return clip


def test_a_clip_that_is_switched_off_changes_nothing() -> None:
    (shape,) = parse_dxf(dxf(lambda document: clipped(document).disable_clipping())).shapes
    assert area_mm2(shape) == pytest.approx(area_mm2(only(rectangle)), rel=STRAIGHT)


def self_inserting(document: Any) -> None:
    document.blocks.new("a").add_blockref("a", (0, 0))
    document.modelspace().add_blockref("a", (0, 0))


def laughs(document: Any) -> None:
    document.blocks.new("b0").add_line((0, 0), (1, 0))
    for n in range(1, 10):
        block = document.blocks.new(f"b{n}")
        for x in range(10):
            block.add_blockref(f"b{n - 1}", (x, 0))
    document.modelspace().add_blockref("b9", (0, 0))


def endless_grid(document: Any) -> None:
    document.blocks.new("empty")
    grid = {"row_count": 2_000_000_000, "row_spacing": 1.0}
    document.modelspace().add_blockref("empty", (0, 0), dxfattribs=grid)


def bare(draw: Draw) -> bytes:
    return dxf(lambda document: draw(document.modelspace()))


GOOD = bare(rectangle)


@pytest.mark.parametrize(
    ("text", "kind", "sentence"),
    [
        (b"", Malformed, "no DXF drawing"),
        (b"hello", Malformed, "no DXF drawing"),
        (b"hello\nEOF\n", Malformed, "could not be read as DXF"),
        (GOOD[: len(GOOD) // 2], Malformed, "cut off"),
        (GOOD[: len(GOOD) // 2] + b"\n  0\nEOF\n", Malformed, "could not be read as DXF"),
        (GOOD.replace(b"\nModel\n", b"\nModal\n"), Malformed, "could not be read as DXF"),
        (bytes(range(256)) * 20, Malformed, "text form"),
        (b" " * (MOST_BYTES + 1), OutOfRange, "20 MB"),
        (dxf(lambda d: rectangle(d.modelspace()), units=0), Malformed, r"\$INSUNITS"),
        (dxf(lambda d: rectangle(d.modelspace()), units=2), Malformed, r"\$INSUNITS"),
        (dxf(lambda d: d.modelspace().add_circle((0, 0), 1), version="R12"), Malformed, r"\$INSUNITS"),
        (bare(lambda s: None), Missing, "nothing to etch"),
        (bare(lambda s: s.add_text("depth")), Missing, "nothing to etch"),
        (bare(lambda s: s.add_lwpolyline([(0, 0), (1, 0), (0, 0)])), Missing, "nothing to etch"),
        (bare(lambda s: s.add_line((0, 0), (math.nan, 1))), OutOfRange, "no number"),
        (bare(lambda s: s.add_circle((0, 0), math.nan)), OutOfRange, "no number"),
        (bare(lambda s: s.add_line((0, 0), (1e12, 1))), OutOfRange, "farther than 1 m"),
        (bare(lambda s: s.add_line((0, 0), (1e308, 1e308))), OutOfRange, "farther than 1 m"),
        (bare(lambda s: s.add_circle((0, 0), 1e12)), OutOfRange, "longer than 1"),
        (bare(lambda s: s.add_open_spline([(0, 0), (1e12, 0), (1, 0), (2, 2)])), OutOfRange, "farther than"),
        (bare(lambda s: s.add_line((0, 0, 0), (1, 1, 1))), OutOfRange, "not at z = 0"),
        (bare(lambda s: s.add_lwpolyline(SQUARE, dxfattribs={"elevation": 5.0})), OutOfRange, "not at z = 0"),
        (bare(lambda s: s.add_circle((0, 0), 1, dxfattribs={"extrusion": (1, 0, 0)})), OutOfRange, "not at"),
        (bare(lambda s: s.add_3dface([(0, 0), (1, 0), (1, 1)])), Malformed, "three-dimensional 3DFACE"),
        (bare(lambda s: s.add_polymesh((3, 3))), Malformed, "three-dimensional POLYLINE"),
        (bare(lambda s: rectangle(s, "cut", close=False)), Malformed, "is open. Close it"),
        (bare(lambda s: rectangle(s, "field_0um")), Malformed, "no positive number"),
        (bare(lambda s: s.add_blockref("nowhere", (0, 0))), Malformed, '"nowhere" that is not there'),
        (dxf(clipped), Malformed, 'clips the block "wide"'),
        (dxf(self_inserting), OutOfRange, "nests blocks deeper"),
        (dxf(laughs), OutOfRange, "1e\\+05 entities"),
        (dxf(endless_grid), OutOfRange, "1e\\+05 entities"),
    ],
)  # fmt: skip
def test_a_bad_drawing_is_refused_in_one_sentence(
    text: bytes, kind: type[FarfaceError], sentence: str
) -> None:
    started = time.process_time()
    with pytest.raises(kind, match=sentence) as refused:
        parse_dxf(text)
    assert time.process_time() - started < HANG_S
    assert "\n" not in str(refused.value)
    assert str(refused.value).endswith(".")


def test_too_many_vertices_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(dxf_blocks, "MOST_VERTICES", 100)
    with pytest.raises(OutOfRange, match="1e\\+02 vertices"):
        read(lambda s: s.add_circle((0, 0), 40))


def test_the_ending_of_a_files_name_chooses_its_reader(tmp_path: Path) -> None:
    for name in ("part.dxf", "PART2.DXF"):
        (tmp_path / name).write_bytes(GOOD)
        assert read_drawing(tmp_path / name).shapes[0].kind == "pocket"
    (tmp_path / "part.pdf").write_bytes(GOOD)
    with pytest.raises(Malformed, match=r"those end in \.svg and \.dxf"):
        read_drawing(tmp_path / "part.pdf")
