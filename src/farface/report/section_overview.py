"""Draw the section's overview: lens cone, whole plate, bath and the camera's field at one scale."""

from farface.kernel import show_quantity
from farface.report.frame import Frame, fitted
from farface.report.known_text import show_known
from farface.report.labels import Column, Label, beside
from farface.report.section_parts import cut
from farface.report.section_view import (
    SectionView,
    beam_radius_m,
    bubble_bottom_m,
    camera_edges_m,
    column_end_m,
)
from farface.report.soft import Paint, marked
from farface.report.svg import Svg, group, line, rect

_AIR_SHARE = 0.55  # of the plate's thickness, shown above the plate
_DEPTHS_SHOWN = 6.0  # plate thicknesses of bath shown at most for the absorption length's sake
_MARK_SHARE = 0.3  # of the panel's width, the length of the absorption mark


def overview_frame(
    view: SectionView, left_px: float, top_px: float, width_px: float, height_px: float
) -> Frame:
    """Choose the overview's scale: air, plate, absorption length, bubble and camera's field must fit."""
    thickness_m = view.thickness_m.value
    above_m = thickness_m * (1.0 + _AIR_SHARE)
    below_m = max(1.3 * column_end_m(view), 1.3 * bubble_bottom_m(view), thickness_m)
    below_m = max(below_m, min(1.5 * view.absorption_length_m.value, _DEPTHS_SHOWN * thickness_m))
    below_m = min(below_m, 1.05 * view.liquid_depth_m)
    half_width_m = max(1.2 * (bubble_bottom_m(view) or view.spot_radius_m.value), 0.5 * thickness_m)
    camera = camera_edges_m(view)
    if camera is not None:
        half_width_m = max(half_width_m, 1.04 * camera[0])
        above_m, below_m = max(above_m, -1.04 * camera[1]), max(below_m, 1.04 * camera[2])
    size = {"left_px": left_px, "top_px": top_px, "width_px": width_px, "height_px": height_px}
    return fitted(**size, above_m=above_m, below_m=below_m, half_width_m=half_width_m)


def overview(view: SectionView, frame: Frame, labels: Column) -> Svg:
    """Draw the overview and, in a column at its side, the labels of what it shows."""
    face = line((frame.left_px, frame.face_px), (frame.right_px, frame.face_px), "edge face")
    mark = _absorption_mark(view, frame, left=labels.left_of_panel)
    drawn = cut(view, frame, name="overview", over=group(face, mark, _camera(view, frame)))
    words = beside(_labels(view, frame, left=labels.left_of_panel), labels)
    return group(drawn, words, class_="ff-overview")


def _absorption_mark(view: SectionView, frame: Frame, *, left: bool) -> Svg:
    """Draw a mark, on the labels' side, at the depth where 1/e of the light is left."""
    width_px = _MARK_SHARE * frame.width_px
    start_px = frame.left_px if left else frame.right_px - width_px

    def band(ends_m: tuple[float, float], fill: dict[str, str | float]) -> Svg:
        top_px, bottom_px = max(frame.face_px, frame.below(ends_m[0])), frame.below(ends_m[1])
        return rect(start_px, top_px, width_px, bottom_px - top_px, **fill)

    def sharp(depth_m: float) -> Svg:
        y_px = frame.below(depth_m)
        return line((start_px, y_px), (start_px + width_px, y_px), "edge")

    paint = Paint(kind="ink", name="overview-absorption", opacity=0.4)
    drawn = marked(view.absorption_length_m, paint, frame.below, band, sharp)
    return group(drawn, class_="ff-absorption")


def _camera(view: SectionView, frame: Frame) -> Svg:
    """Draw the camera's field; dashed where its height above the face is not known."""
    edges = camera_edges_m(view)
    if edges is None:
        return group()
    half_m, upper_m, lower_m = edges
    (left, top), (right, bottom) = frame.point(-half_m, upper_m), frame.point(half_m, lower_m)
    dash = " ff-dash" if view.camera_above_m is None else ""
    return rect(left, top, right - left, bottom - top, rx=3, class_=f"ff-edge ff-camera{dash}")


def _labels(view: SectionView, frame: Frame, *, left: bool) -> list[Label]:
    """Name each feature at a place on the labels' side where it can be seen."""
    side = -1.0 if left else 1.0

    def label(across_px: float, below_m: float, words: str, note: str) -> Label:
        return Label(x_px=frame.axis_px + side * across_px, y_px=frame.below(below_m), words=words, note=note)

    thickness, length = view.thickness_m, view.absorption_length_m
    front_m, margin_px = -thickness.value, 0.44 * frame.width_px
    in_air_m = (frame.top_m + front_m) / 2
    cone_px = beam_radius_m(view, in_air_m) * frame.px_per_m
    angle = f"{1e3 * view.cone_half_angle_rad:.3g} mrad"
    note = f"plate, {thickness.how}; index {view.index:.3g}"
    labels = [
        label(cone_px, in_air_m, angle, "half-angle of the lens cone"),
        label(margin_px, front_m / 2, show_known(thickness, "m"), note),
    ]
    if length.value < frame.bottom_m:
        labels.append(
            label(margin_px, length.value, show_known(length, "m"), f"absorption length, {length.how}")
        )
    else:
        note = f"absorption length, {length.how}; below this picture"
        labels.append(label(margin_px, 0.8 * frame.bottom_m, show_known(length, "m"), note))
    depth = show_quantity(view.liquid_depth_m, "m", digits=2)
    bath_m = 0.92 * min(frame.bottom_m, view.liquid_depth_m)
    labels.append(label(margin_px, bath_m, depth, "depth of the bath"))
    return [*labels, *_camera_label(view, frame, side)]


def _camera_label(view: SectionView, frame: Frame, side: float) -> list[Label]:
    edges = camera_edges_m(view)
    if edges is None or view.camera_field_m is None:
        return []
    width, height = (show_quantity(x, "m", digits=2) for x in view.camera_field_m)
    place = "" if view.camera_above_m is not None else ", its height assumed"
    x_px, y_px = frame.point(side * edges[0], 0.7 * edges[2])
    return [Label(x_px=x_px, y_px=y_px, words=f"{width} × {height}", note=f"camera's field{place}")]
