"""Hold the section to its scale: drawn lengths over the scale bar are the view's lengths."""

import math
from dataclasses import fields
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from farface.kernel import OutOfRange
from farface.records import Known
from farface.report.section import SectionView, section_caption, section_svg
from farface.report.section_view import beam_radius_m, bubble_centre_m
from report_views import (
    HOSTILE,
    Element,
    drawn,
    found,
    known,
    points,
    scales_px_per_m,
    section_view,
    shape,
    words,
)

# Coordinates are written to 0.01 px, the shortest bar is some 30 px: two roundings are 1 part in 1500.
READ_OFF = 1.5e-3  # relative
ROUNDING_PX = 0.021  # px, two coordinates rounded to 0.01
PAIRED = ("narrow", [False, True])


def _panels(view: SectionView, narrow: bool = False) -> tuple[Element, float, Element, float]:
    root = drawn(section_svg(view, narrow=narrow))
    whole, close = scales_px_per_m(root)
    return found(root, "overview")[0], whole, found(root, "close")[0], close


@pytest.mark.drawn_truth
@pytest.mark.parametrize(*PAIRED)
def test_the_overview_is_to_scale(narrow: bool) -> None:
    view = section_view()
    overview, px_per_m, _, _ = _panels(view, narrow)
    assert float(shape(overview, "plate").get("height", 0)) / px_per_m == pytest.approx(1.1e-3, rel=READ_OFF)
    camera = found(overview, "camera")[0]
    assert float(camera.get("width", 0)) / px_per_m == pytest.approx(6e-3, rel=READ_OFF)
    assert float(camera.get("height", 0)) / px_per_m == pytest.approx(3.6e-3, rel=READ_OFF)
    face_px = points(found(overview, "face")[0])[0, 1]
    mark_px = points(next(n for n in found(overview, "absorption")[0].iter() if n.get("d")))[0, 1]
    assert (mark_px - face_px) / px_per_m == pytest.approx(1e-3, rel=READ_OFF)


@pytest.mark.drawn_truth
@pytest.mark.parametrize(*PAIRED)
def test_the_close_up_is_to_scale(narrow: bool) -> None:
    view = section_view()
    _, _, close, px_per_m = _panels(view, narrow)
    column, bubble = shape(close, "column"), found(close, "bubble")[0]
    circle = next(node for node in bubble.iter() if node.get("r"))
    assert float(column.get("height", 0)) / px_per_m == pytest.approx(300e-6, rel=READ_OFF)
    assert float(column.get("width", 0)) / px_per_m == pytest.approx(40e-6, rel=READ_OFF)
    assert float(circle.get("r", 0)) / px_per_m == pytest.approx(270e-6, rel=READ_OFF)
    assert float(shape(close, "floor").get("height", 0)) / px_per_m == pytest.approx(
        40e-6, abs=ROUNDING_PX / px_per_m
    )
    ticks = [points(tick)[0, 0] for tick in found(close, "point")]
    assert np.diff(ticks) / px_per_m == pytest.approx(15e-6, abs=ROUNDING_PX / px_per_m)


@pytest.mark.drawn_truth
def test_the_close_up_is_outlined_in_the_overview_where_it_lies() -> None:
    root = drawn(section_svg(section_view()))
    whole, close = scales_px_per_m(root)
    window = found(root, "window")[0]
    frame = next(n for n in found(root, "close")[0].iter() if n.get("class") == "ff-grid")
    for side in ("width", "height"):
        assert float(window.get(side, 0)) / whole == pytest.approx(
            float(frame.get(side, 0)) / close, rel=READ_OFF
        )


@pytest.mark.exact
def test_the_bath_is_shaded_by_the_light_left() -> None:
    overview, px_per_m, _, _ = _panels(section_view())
    gradient = next(n for n in overview.iter() if n.get("id", "").endswith("overview-light"))
    length_px = float(gradient.get("y2", 0)) - float(gradient.get("y1", 0))
    stops = [(float(s.get("offset", 0)), float(s.get("stop-opacity", 0))) for s in gradient]
    for share, opacity in stops:
        left = math.exp(-share * length_px / px_per_m / 1e-3)
        assert opacity / stops[0][1] == pytest.approx(left, rel=READ_OFF, abs=2e-4)


@pytest.mark.exact
def test_the_beam_refracts_at_the_front_face() -> None:
    # A vanishing spot leaves two straight lines; sin(theta) = n sin(theta in glass).
    view = section_view(spot_radius_m=known(1e-12), etched_m=None, cone_half_angle_rad=0.3)
    inside = math.atan((beam_radius_m(view, -0.9e-3) - beam_radius_m(view, -0.4e-3)) / 0.5e-3)
    outside = math.atan((beam_radius_m(view, -2.2e-3) - beam_radius_m(view, -1.2e-3)) / 1e-3)
    assert outside == pytest.approx(0.3, rel=1e-12)
    assert math.sin(outside) == pytest.approx(1.47 * math.sin(inside), rel=1e-12)


@pytest.mark.exact
def test_the_plate_moves_the_focus_as_published() -> None:
    # Paraxial shift of 1 mm of n 1.5129: t (1 - 1/n) = 0.33902 mm, checks of the plate.
    view = section_view(
        spot_radius_m=known(1e-15),
        etched_m=None,
        cone_half_angle_rad=1e-4,
        index=1.5129,
        thickness_m=known(1e-3),
    )
    unbent_m = beam_radius_m(view, -1e-3) / math.tan(1e-4)
    assert 1e-3 - unbent_m == pytest.approx(0.33902e-3, abs=5e-9)


def test_the_waist_is_the_spot_on_the_etched_floor() -> None:
    view = section_view()
    assert beam_radius_m(view, -40e-6) == pytest.approx(20e-6)
    assert beam_radius_m(view, 0.0) > 20e-6


@pytest.mark.parametrize("how", ["measured", "stated"])
def test_measured_edges_are_sharp(how: Any) -> None:
    view = section_view(bubble_radius_m=known(270e-6, 10e-6, how))
    root = drawn(section_svg(view))
    assert all(not found(part, "soft") for part in found(root, "bubble"))
    assert all(found(part, "edge") for part in found(root, "bubble"))
    assert f"largest radius of the bubble, {how}" in _joined(root)


@pytest.mark.parametrize(("sd_m", "how"), [(60e-6, "measured"), (20e-6, "computed"), (20e-6, "assumed")])
def test_unknown_edges_fade_over_one_sd_to_each_side(sd_m: float, how: Any) -> None:
    _, _, close, px_per_m = _panels(section_view(bubble_radius_m=known(270e-6, sd_m, how)))
    bubble = found(close, "bubble")[0]
    gradient = next(n for n in bubble.iter() if n.tag.endswith("radialGradient"))
    outer_px = float(gradient.get("r", 0))
    stops = [(float(s.get("offset", 0)), float(s.get("stop-opacity", 0))) for s in gradient]
    full_px = max(share for share, opacity in stops if opacity == stops[0][1]) * outer_px
    half = next(share for share, opacity in stops if opacity == pytest.approx(stops[0][1] / 2, abs=1e-3))
    assert (outer_px - full_px) / px_per_m == pytest.approx(2 * sd_m, rel=READ_OFF)
    assert half * outer_px / px_per_m == pytest.approx(270e-6, rel=READ_OFF)
    assert stops[-1][1] == 0.0
    assert not found(bubble, "edge")


@pytest.mark.parametrize(
    ("field", "part", "value"),
    [("thickness_m", "plate", 1.1e-3), ("column_m", "column", 3e-4), ("etched_m", "floor", 4e-5)],
)
def test_each_part_turns_soft_with_its_own_number(field: str, part: str, value: float) -> None:
    sharp, soft = (
        drawn(section_svg(section_view())),
        drawn(section_svg(section_view(**{field: known(value, 0.3 * value, "computed")}))),
    )
    assert found(found(soft, part)[0], "soft")
    assert not found(found(sharp, part)[0], "soft")
    others = {"plate", "column", "floor", "beam", "bubble", "absorption"} - {part}
    assert all(not found(found(soft, other)[0], "soft") for other in others)


def test_labels_give_value_spread_unit_and_how() -> None:
    root = drawn(section_svg(section_view(absorption_length_m=known(1e-3, 0.3e-3, "computed"))))
    said = _joined(root)
    for text in (
        "1.0 ± 0.3 mm",
        "absorption length, computed",
        "1.10 ± 0.02 mm",
        "plate, measured; index 1.47",
    ):
        assert text in said


def _joined(root: Element) -> str:
    return " ".join(words(root).split())


def test_the_picture_names_and_explains_itself() -> None:
    root = drawn(section_svg(section_view()))
    title, desc = root[0], root[1]
    assert root.get("role") == "img"
    assert (root.get("aria-labelledby"), root.get("aria-describedby")) == (title.get("id"), desc.get("id"))
    assert desc.text == section_caption(section_view())
    assert "invented data" in words(root)
    assert "not calibrated: prior only" in words(root)
    assert "not calibrated" not in words(drawn(section_svg(section_view(calibrated=True))))


def test_the_caption_tells_a_bubble_at_the_glass_from_one_below() -> None:
    assert "reaches the glass" in section_caption(section_view())
    deep = section_view(column_m=known(1.3e-3), bubble_radius_m=known(400e-6), etched_m=None)
    assert bubble_centre_m(deep) == pytest.approx(650e-6)
    assert "bursts 250 um below the glass" in section_caption(deep)
    assert "longer than the absorption length" in section_caption(deep)
    assert "No bubble" in section_caption(section_view(bubble_radius_m=None))


def test_names_of_people_stay_text() -> None:
    root = drawn(section_svg(section_view(title=HOSTILE)))
    assert not [node for node in root.iter() if node.tag.endswith("script")]
    assert "<script>alert(1)</script>" in (root[0].text or "")
    assert not any(name.startswith("on") for node in root.iter() for name in node.attrib)


def test_two_pictures_on_one_page_share_no_id() -> None:
    views = (section_view(), section_view(index=1.5))
    ids = [{n.get("id") for n in drawn(section_svg(view)).iter() if n.get("id")} for view in views]
    assert ids[0]
    assert not ids[0] & ids[1]
    assert section_svg(views[0]) == section_svg(views[0])


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"thickness_m": known(0.0)}, "plate thickness is 0 m"),
        ({"absorption_length_m": known(math.inf)}, "absorption length is inf m"),
        ({"pitch_m": -1e-6}, "pitch is -1e-06 m"),
        ({"index": 0.9}, "refractive index is 0.9"),
        ({"cone_half_angle_rad": 2.0}, "cone half-angle is 2 rad"),
    ],
)
def test_what_cannot_be_drawn_is_refused_by_name(change: dict[str, Any], says: str) -> None:
    with pytest.raises(OutOfRange, match=says):
        section_svg(section_view(**change))


@pytest.mark.parametrize("value", [0.0, math.nan, -1e-6])
def test_features_without_a_size_are_left_out(value: float) -> None:
    root = drawn(
        section_svg(section_view(bubble_radius_m=known(value), column_m=known(value), etched_m=known(value)))
    )
    assert not [part for name in ("bubble", "column", "floor") for part in found(root, name)]


def _sizes(low: float, high: float) -> st.SearchStrategy[Known]:
    def build(size: float, share: float, how: Any) -> Known:
        return Known(value=size, sd=share * size, how=how)

    hows = st.sampled_from(["measured", "stated", "computed", "assumed"])
    return st.builds(build, st.floats(math.log(low), math.log(high)).map(math.exp), st.floats(0.0, 3.0), hows)


VIEWS: dict[str, st.SearchStrategy[Any]] = {
    "thickness_m": _sizes(5e-5, 2e-2),
    "spot_radius_m": _sizes(1e-6, 3e-4),
    "absorption_length_m": _sizes(1e-5, 1e-1),
    "column_m": st.none() | _sizes(1e-6, 5e-3),
    "bubble_radius_m": st.none() | _sizes(1e-6, 5e-3),
    "etched_m": st.none() | _sizes(1e-7, 5e-3),
    "camera_field_m": st.none() | st.just((6e-3, 3.6e-3)) | st.just((3e-4, 2e-4)),
    "camera_above_m": st.none() | st.floats(-1e-3, 3e-3),
    "liquid_depth_m": st.floats(1e-4, 5e-2),
    "cone_half_angle_rad": st.floats(1e-3, 0.6),
    "pitch_m": st.floats(1e-6, 1e-3),
}


@settings(max_examples=60, deadline=None)
@given(changes=st.fixed_dictionaries(VIEWS), narrow=st.booleans())
def test_any_sizes_give_a_picture_with_one_scale_a_panel(changes: dict[str, Any], narrow: bool) -> None:
    assert set(changes) <= {field.name for field in fields(SectionView)}
    svg = section_svg(section_view(**changes), narrow=narrow)
    whole, close = scales_px_per_m(drawn(svg))
    assert close > 0.0 < whole
    assert "nan" not in svg
    assert "inf" not in svg.replace("infinite", "")
