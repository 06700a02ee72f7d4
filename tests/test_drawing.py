"""Drawings: units, transforms and kinds read right, and one clear sentence for everything that is refused."""

import math
import time
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from farface.files import drawing as drawing_module
from farface.files.drawing import parse_drawing, read_drawing
from farface.files.drawing_guard import MOST_BYTES
from farface.files.outline import CHORD_ERROR_M
from farface.kernel import FarfaceError, Malformed, Missing, OutOfRange
from farface.part.shapes import Drawing, Shape, region_of

# The SVG library takes a millimetre as 3.7795296 px where 96 / 25.4 is exact: 5.4e-7 of a length.
SCALE = 6e-7
AREA = 2.0 * SCALE
# That of the 20 mm page, and a little rounding.
PLACE = 0.02e-6

XLINK = 'xmlns:xlink="http://www.w3.org/1999/xlink"'


def svg(inner: str, *, page: str = 'width="20mm" height="10mm" viewBox="0 0 20 10"', head: str = "") -> bytes:
    return f'{head}<svg xmlns="http://www.w3.org/2000/svg" {XLINK} {page}>{inner}</svg>'.encode()


def read(inner: str, **how: str) -> Drawing:
    return parse_drawing(svg(inner, **how))


def only(inner: str, **how: str) -> Shape:
    (shape,) = read(inner, **how).shapes
    return shape


def box(shape: Shape) -> tuple[float, ...]:
    every = np.vstack(shape.paths_m)
    return tuple(1e3 * np.concatenate((every.min(axis=0), every.max(axis=0))))


def area_mm2(shape: Shape) -> float:
    return 1e6 * region_of(shape.paths_m).area


MM = pytest.approx


# What is read


def test_the_middle_of_the_page_is_the_origin_and_y_points_up() -> None:
    shape = only('<rect x="1" y="2" width="3" height="1"/>')
    assert box(shape) == MM((-9.0, 2.0, -6.0, 3.0), abs=1e3 * PLACE)


@pytest.mark.exact
@pytest.mark.parametrize(
    ("page", "unit_mm"),
    [
        ('width="20mm" height="10mm" viewBox="0 0 20 10"', 1.0),
        ('width="2cm" height="1cm" viewBox="0 0 200 100"', 0.1),
        ('width="1in" height="0.5in" viewBox="0 0 10 5"', 2.54),
        ('width="96" height="48"', 25.4 / 96.0),
        ('width="96px" height="48px"', 25.4 / 96.0),
        ('viewBox="0 0 96 48"', 25.4 / 96.0),
        ('width="72pt" height="36pt" viewBox="0 0 72 36"', 25.4 / 72.0),
    ],
)
def test_lengths_are_those_of_the_page(page: str, unit_mm: float) -> None:
    x0, y0, x1, y1 = box(only('<rect x="1" y="1" width="4" height="2"/>', page=page))
    assert (x1 - x0, y1 - y0) == MM((4.0 * unit_mm, 2.0 * unit_mm), rel=SCALE)


def test_lengths_with_units_of_their_own_are_kept() -> None:
    x0, _, x1, _ = box(
        only('<rect x="1mm" y="1mm" width="4mm" height="2mm"/>', page='width="20mm" height="10mm"')
    )
    assert (x0, x1) == MM((-9.0, -5.0), abs=1e-5)


def test_a_page_of_another_shape_is_fitted_and_centred() -> None:
    # A 10 x 10 view box in a 20 x 10 mm page: as high as the page, in the middle of its width.
    page = 'width="20mm" height="10mm" viewBox="0 0 10 10"'
    assert box(only('<rect x="0" y="0" width="10" height="10"/>', page=page)) == MM((-5, -5, 5, 5), abs=1e-4)


@pytest.mark.exact
def test_nested_transforms_apply_from_the_inside_out() -> None:
    rect = '<rect x="1" y="2" width="2" height="1" {}/>'
    inner = f'<g transform="translate(10 5)"><g transform="rotate(90)">{rect}</g></g>'
    # rotate(90) takes (x, y) to (-y, x) in SVG; then moved to the middle of the page; then y is turned up.
    assert box(only(inner.format(""))) == MM((-3.0, -3.0, -2.0, -1.0), abs=1e-4)
    assert box(only(inner.format('transform="scale(2 1)"'))) == MM((-3.0, -6.0, -2.0, -2.0), abs=1e-4)


@pytest.mark.exact
def test_a_skewed_circle_is_the_ellipse_it_should_be() -> None:
    shape = only(
        '<circle cx="10" cy="5" r="2" transform="skewX(30)"/>',
        page='width="40mm" height="20mm" viewBox="0 0 40 20"',
    )
    x0, y0, x1, y1 = box(shape)
    half = 2.0 * math.sqrt(1.0 + math.tan(math.radians(30.0)) ** 2)
    assert ((x1 - x0) / 2, (y1 - y0) / 2) == MM((half, 2.0), abs=1e-3)
    assert area_mm2(shape) == pytest.approx(4.0 * math.pi, rel=1e-3)


@pytest.mark.exact
@pytest.mark.parametrize("radius", [0.05, 1.0, 4.0])
def test_curves_stay_within_a_micrometre_of_their_chords(radius: float) -> None:
    # Cubic arcs of the usual kind leave a circle by 2.7e-4 of its radius, to the outside.
    bend = 4.0 / 3.0 * (math.sqrt(2.0) - 1.0) * radius
    cubic = f"M {10 + radius} 5 c 0 {bend} {bend - radius} {radius} {-radius} {radius} L 10 5 Z"
    quadratic = f"M 10 5 q {radius} 0 {radius} {radius} Z"
    circle = only(f'<circle cx="10" cy="5" r="{radius}"/>')
    from_middle = np.hypot(*circle.paths_m[0].T)
    middles = np.hypot(*(0.5 * (circle.paths_m[0] + np.roll(circle.paths_m[0], 1, axis=0))).T)
    assert from_middle == pytest.approx(1e-3 * radius, abs=PLACE)
    assert middles.min() > 1e-3 * radius - CHORD_ERROR_M - PLACE
    arc = np.hypot(*only(f'<path d="{cubic}"/>').paths_m[0].T)
    assert arc[arc > 1e-9] == pytest.approx(1e-3 * radius * (1 + 1.4e-4), abs=1.5e-4 * 1e-3 * radius + PLACE)
    # A parabola fills two thirds of the triangle of its tangents; it is shorter than 2 r.
    lost_mm2 = 1e3 * CHORD_ERROR_M * 2.0 * radius
    assert area_mm2(only(f'<path d="{quadratic}"/>')) == pytest.approx(radius**2 / 3.0, abs=lost_mm2)


def test_flat_curves_take_few_vertices() -> None:
    assert len(only('<circle cx="10" cy="5" r="4"/>').paths_m[0]) < 200
    assert len(only('<path d="M 1 1 C 2 1 3 1 4 1 L 4 2 Z"/>').paths_m[0]) == 3


@pytest.mark.exact
def test_a_hole_is_left_out_of_its_pocket() -> None:
    ring = "M 2 2 h 4 v 4 h -4 z M 3 3 {} z"
    assert area_mm2(only(f'<path d="{ring.format("v 2 h 2 v -2")}"/>')) == MM(12.0, rel=AREA)
    assert area_mm2(only(f'<path d="{ring.format("h 2 v 2 h -2")}"/>')) == MM(16.0, rel=AREA)
    assert area_mm2(only(f'<path fill-rule="evenodd" d="{ring.format("h 2 v 2 h -2")}"/>')) == MM(
        12.0, rel=AREA
    )


@pytest.mark.parametrize(
    ("element", "kind"),
    [
        ('<path d="M 1 1 h 3 v 3 z"/>', "pocket"),
        ('<path d="M 1 1 h 3 v 3 L 1 1"/>', "pocket"),
        ('<path d="M 1 1 h 3 v 3 z" fill="none" stroke="black"/>', "line"),
        ('<path d="M 1 1 h 3" stroke="black"/>', "line"),
        ('<line x1="1" y1="1" x2="4" y2="1" stroke="black"/>', "line"),
        ('<polyline points="1,1 2,2 3,1" fill="none" stroke="black"/>', "line"),
        ('<polygon points="1,1 2,2 3,1"/>', "pocket"),
        ('<g style="fill:none;stroke:#000"><ellipse cx="5" cy="5" rx="2" ry="1"/></g>', "line"),
        ('<style>.a { fill: none; stroke: red }</style><rect class="a" width="3" height="2"/>', "line"),
        ('<circle cx="5" cy="5" r="2" fill="none" stroke="black" data-cut="yes"/>', "cut"),
        ('<g data-cut="yes"><circle cx="5" cy="5" r="2"/></g>', "cut"),
        ('<circle cx="5" cy="5" r="2" data-cut="no"/>', "pocket"),
    ],
)
def test_paint_and_closure_make_the_kind(element: str, kind: str) -> None:
    assert only(element).kind == kind


def test_a_closed_line_comes_back_to_its_start() -> None:
    (path,) = only('<rect x="1" y="1" width="2" height="1" fill="none" stroke="black"/>').paths_m
    assert len(path) == 5
    assert np.array_equal(path[0], path[-1])


def test_what_is_not_seen_is_not_etched() -> None:
    seen = read(
        '<rect id="a" width="3" height="2"/><rect width="3" height="2" fill="none"/>'
        '<rect width="3" height="2" display="none"/><rect width="3" height="2" visibility="hidden"/>'
        '<line x1="1" y1="1" x2="2" y2="2"/>'
        '<g style="display:none"><rect width="3" height="2"/></g><defs><rect width="3" height="2"/></defs>'
    )
    assert [shape.name for shape in seen.shapes] == ["a"]


def test_depth_comes_from_the_element_or_the_nearest_group() -> None:
    found = read(
        '<g data-depth-um="100"><g><rect id="a" width="1" height="1"/></g>'
        '<g data-depth-um="20"><rect id="b" width="1" height="1"/></g>'
        '<rect id="c" width="1" height="1" data-depth-um="5.5"/></g><rect id="d" width="1" height="1"/>'
    )
    depths = {shape.name: shape.depth_m for shape in found.shapes}
    assert depths == {
        "a": pytest.approx(100e-6),
        "b": pytest.approx(20e-6),
        "c": pytest.approx(5.5e-6),
        "d": None,
    }


def test_every_shape_has_a_name_of_its_own() -> None:
    found = read(
        '<defs><rect id="a" width="1" height="1"/></defs><use href="#a"/><use xlink:href="#a" x="3"/>'
        '<rect width="1" height="1"/><rect width="1" height="1"/><rect id="=1(x)" width="1" height="1"/>'
        '<rect id="rect 3" width="1" height="1"/><rect width="1" height="1"/>'
    )
    assert [shape.name for shape in found.shapes] == [
        "a",
        "a 2",
        "rect 1",
        "rect 2",
        "_1_x_",
        "rect 3",
        "rect 4",
    ]
    first, second, *_ = found.shapes
    assert second.paths_m[0] - first.paths_m[0] == pytest.approx(np.tile([3e-3, 0.0], (4, 1)), abs=PLACE)


def test_a_drawing_programs_own_notes_are_passed_over() -> None:
    notes = '<x:view xmlns:x="http://example.org/x" x:href="grid"/><metadata>by me</metadata><title>t</title>'
    assert only(notes + '<rect width="1" height="1"/>').kind == "pocket"


def test_crossing_outlines_are_traced_anew_and_listed() -> None:
    found = read('<path id="bow" d="M 1 1 L 3 3 L 3 1 L 1 3 Z"/><path id="flat" d="M 1 1 L 3 1 Z"/>')
    assert area_mm2(found.shapes[0]) == MM(2.0, rel=AREA)
    assert found.repaired == (
        '"bow" crosses itself; the region it fills was traced anew.',
        '"flat" encloses no area and was left out.',
    )


def test_an_outline_there_and_back_beside_a_sound_one_is_listed() -> None:
    found = read('<path id="a" d="M 1 1 L 3 1 Z M 5 5 h 1 v 1 h -1 z"/>')
    assert area_mm2(found.shapes[0]) == MM(1.0, rel=AREA)
    assert found.repaired == ('"a" crosses itself; the region it fills was traced anew.',)


# What is refused


BOMB = (
    '<?xml version="1.0"?><!DOCTYPE svg [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;&a;&a;">'
    '<!ENTITY c "&b;&b;&b;&b;&b;&b;&b;&b;&b;&b;">]>'
)
OUTSIDE = '<!DOCTYPE svg [<!ENTITY x SYSTEM "file:///etc/hostname">]>'
RECT = '<rect width="1" height="1"/>'
LAUGHS = "".join(
    f'<g id="g{n}">' + f'<use href="#g{n - 1}"/>' * 10 + "</g>" for n in range(1, 12)
)  # fmt: skip


@pytest.mark.parametrize(
    ("text", "kind", "sentence"),
    [
        (svg("<desc>&c;</desc>" + RECT, head=BOMB), Malformed, "declares a document type"),
        (svg("<desc>&x;</desc>" + RECT, head=OUTSIDE), Malformed, "declares a document type"),
        (svg(RECT, head='<?xml-stylesheet href="a.css"?>'), Malformed, "processing instruction"),
        (svg('<use href="other.svg#a"/>'), Malformed, "outside the drawing"),
        (svg('<use xlink:href="http://example.org/a.svg#a"/>'), Malformed, "outside the drawing"),
        (svg('<rect width="1" height="1" fill="url(http://example.org/a)"/>'), Malformed, "outside the"),
        (svg("<style>@import 'a.css';</style>" + RECT), Malformed, "outside it"),
        (svg("<style>rect { fill: url( 'http://example.org/a' ) }</style>" + RECT), Malformed, "outside it"),
        (svg('<image href="data:image/png;base64,AA"/>'), Malformed, "Trace the picture"),
        (svg("<script>alert(1)</script>" + RECT), Malformed, "does not etch"),
        (svg('<foreignObject width="1" height="1"/>' + RECT), Malformed, "does not etch"),
        (svg('<text x="1" y="1">depth</text>'), Malformed, "Convert text to paths"),
        (svg('<use id="a" href="#a"/>'), OutOfRange, "nests uses deeper"),
        (svg('<g id="a"><use href="#b"/></g><g id="b"><use href="#a"/></g>'), OutOfRange, "nests uses"),
        (svg('<use href="#nowhere"/>'), Malformed, '"nowhere", which is not there'),
        (svg(f'<g id="g0">{RECT}</g>{LAUGHS}'), OutOfRange, "repeats its parts"),
        (svg("<g>" * 200 + RECT + "</g>" * 200), OutOfRange, "nests deeper"),
        (svg(svg(RECT).decode()), Malformed, "a drawing inside it"),
        (b"", Malformed, "no well-formed XML"),
        (b"hello", Malformed, "no well-formed XML"),
        (b"\x00\xff\xfe", Malformed, "no well-formed XML"),
        (svg(RECT)[:-9], Malformed, "no well-formed XML"),
        (b"<html/>", Malformed, "no SVG drawing"),
        (b"<svg/>", Malformed, "no SVG drawing"),
        (b" " * (MOST_BYTES + 1), OutOfRange, "20 MB"),
        (svg(""), Missing, "holds nothing to etch"),
        (svg("<g/>"), Missing, "holds nothing to etch"),
        (svg('<path d="M 1 1 L 2 1 Z"/>'), Missing, "holds nothing to etch"),
        (svg(RECT, page=""), Malformed, "no page size"),
        (svg('<path d="M 1 1 h 3 v 3" data-depth-um="100"/>'), Malformed, "its outline is open"),
        (svg('<path d="M 1 1 h 3 v 3" fill="red" stroke="red"/>'), Malformed, "its outline is open"),
        (svg('<path d="M 1 1 h 3 v 3 z m 5 5 h 1" fill="red"/>'), Malformed, "its outline is open"),
        (svg('<path d="M 1 1 h 3 v 3" stroke="red" data-cut="yes"/>'), Malformed, "Close its path"),
        (svg('<rect width="1" height="1" data-cut="maybe"/>'), Malformed, "Write yes or no"),
        (svg('<rect width="1" height="1" data-depth-um="0"/>'), Malformed, "positive number"),
        (svg('<rect width="1" height="1" data-depth-um="-5"/>'), Malformed, "positive number"),
        (svg('<rect width="1" height="1" data-depth-um="deep"/>'), Malformed, "positive number"),
        (svg('<rect width="1" height="1" data-depth-um="nan"/>'), Malformed, "positive number"),
        (svg('<rect width="1" height="1" data-depth-um="100 um"/>'), Malformed, "positive number"),
        (svg('<rect width="50%" height="1"/>'), Malformed, 'width="50%"'),
        (svg('<rect width="wide" height="1"/>'), Malformed, 'width="wide"'),
        (svg('<circle r="1em"/>'), Malformed, 'r="1em"'),
        (svg('<circle r="nan"/>'), Malformed, 'r="nan"'),
        (svg('<polygon points="1,1 2,x 3,1"/>'), Malformed, "points that are no numbers"),
        (svg('<path d="M 1 1 L nan 2 Z"/>'), Malformed, 'its data have "L n"'),
        (svg('<path d="M 1 1 L 2 1 3 3 junk Z"/>'), Malformed, 'its data have "L 2 1 3 3 junk"'),
        (svg('<path d="M 1 1 L 2 1 3 Z"/>'), Malformed, 'its data have "L 2 1 3"'),
        (svg('<path d="M 1 1 L 2 1 Z 4"/>'), Malformed, 'its data have "Z 4"'),
        (svg('<path d="1 1 L 2 1"/>'), Malformed, 'its data begin with "1 1"'),
        (svg('<path d="L 2 1"/>'), Malformed, "do not begin with a move"),
        (svg('<g transform="matrix3d(1)">' + RECT + "</g>"), Malformed, "Apply the transform"),
        (svg('<rect width="1" height="1" style="transform: scale(2)"/>'), Malformed, "in a style"),
        (svg('<rect width="1" height="1" clip-path="url(#a)"/>'), Malformed, "clipped or masked"),
        (svg('<rect width="1e4" height="1"/>'), OutOfRange, "farther than 1 m"),
        (svg('<rect width="1e400" height="1"/>'), OutOfRange, "farther than 1 m"),
        (svg('<path d="M 0 0 L 1e300 1e300 L 0 1 Z"/>'), OutOfRange, "farther than 1 m"),
        (svg('<path d="M 0 0 C 1e9 0 0 1e9 1 1 Z"/>'), OutOfRange, "farther than 1 m"),
        (svg('<path d="M 0 0 A 1e9 1e9 0 1 1 1 1 Z"/>'), OutOfRange, "farther than 1 m"),
        (svg(f'<g transform="scale(1e300)"><g transform="scale(1e9)">{RECT}</g></g>'), OutOfRange, "farther"),
    ],
)  # fmt: skip
def test_a_bad_drawing_is_refused_in_one_sentence(
    text: bytes, kind: type[FarfaceError], sentence: str
) -> None:
    started = time.perf_counter()
    with pytest.raises(kind, match=sentence) as refused:
        parse_drawing(text)
    assert time.perf_counter() - started < 2.0
    assert "\n" not in str(refused.value)
    assert str(refused.value).endswith(".")


def test_too_many_vertices_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(drawing_module, "MOST_VERTICES", 100)
    with pytest.raises(OutOfRange, match="1e\\+02 vertices"):
        read('<circle cx="10" cy="5" r="4"/>')


def test_a_file_is_read_and_a_missing_one_is_said(tmp_path: Path) -> None:
    (tmp_path / "part.svg").write_bytes(svg(RECT))
    assert read_drawing(tmp_path / "part.svg").shapes[0].kind == "pocket"
    for nothing in (tmp_path / "none.svg", tmp_path):
        with pytest.raises(Missing, match="could not be read"):
            read_drawing(nothing)


def test_a_file_without_end_is_not_read_to_its_end(tmp_path: Path) -> None:
    huge = tmp_path / "huge.svg"
    with huge.open("wb") as file:
        file.truncate(10 * MOST_BYTES)
    with pytest.raises(OutOfRange, match="20 MB"):
        read_drawing(huge)


@given(st.lists(st.sampled_from("MmLlHhVvCcQqAaSsTtZz0123456789.,- +e"), max_size=40).map("".join))
def test_any_path_is_read_or_refused(data: str) -> None:
    try:
        found = read(f'<path d="{data}"/>')
    except FarfaceError:
        return
    assert all(np.isfinite(path).all() for shape in found.shapes for path in shape.paths_m)


@given(
    st.sampled_from(["transform", "points", "viewBox", "width", "style", "fill", "d", "r", "id"]),
    st.text(max_size=20),
)
def test_any_attribute_is_read_or_refused(name: str, value: str) -> None:
    from xml.sax.saxutils import quoteattr

    attribute = f"{name}={quoteattr(value)}"
    for tag in ("path", "polygon", "circle", "rect", "g", "svg"):
        text = svg(f"<{tag} {attribute}></{tag}>{RECT}" if tag != "svg" else RECT, page=attribute)
        try:
            parse_drawing(text)
        except FarfaceError:
            continue
