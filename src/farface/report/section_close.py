"""Draw the section's close-up: spot, etched floor, superheated column and bubble, labelled at its side."""

from farface.kernel import show_quantity
from farface.records import Known
from farface.report.frame import Frame, fitted
from farface.report.known_text import show_known
from farface.report.labels import Column, Label, beside
from farface.report.section_parts import cut
from farface.report.section_view import (
    SectionView,
    bubble_bottom_m,
    bubble_centre_m,
    column_end_m,
    etched_depth_m,
    etched_half_width_m,
)
from farface.report.svg import Svg, group, line


def close_frame(view: SectionView, left_px: float, top_px: float, width_px: float, height_px: float) -> Frame:
    """Choose the close-up's scale: etched floor, spot, column and bubble must fit."""
    spot_m = view.spot_radius_m.value
    bubble = view.bubble_radius_m
    bubble_m = 0.0 if bubble is None else bubble.value + min(bubble.sd, bubble.value / 2)
    bottom_m = max(1.15 * column_end_m(view), 1.12 * bubble_bottom_m(view), 5 * spot_m)
    above_m = max(1.8 * etched_depth_m(view), 0.16 * bottom_m, 2.5 * spot_m)
    size = {"left_px": left_px, "top_px": top_px, "width_px": width_px, "height_px": height_px}
    half_width_m = max(1.08 * bubble_m, 4 * spot_m)
    return fitted(**size, above_m=above_m, below_m=bottom_m, half_width_m=half_width_m)


def close_up(view: SectionView, frame: Frame, labels: Column) -> Svg:
    """Draw the close-up and, in a column at its side, the labels of what it shows."""
    drawn = cut(view, frame, name="close", over=group(_face(view, frame), _points(view, frame)))
    return group(drawn, beside(_labels(view, frame), labels), class_="ff-close")


def _face(view: SectionView, frame: Frame) -> Svg:
    """Draw the far face: a line on the glass that is left, dashes where it was etched away."""
    y_px = frame.face_px
    if etched_depth_m(view) <= 0.0:
        return line((frame.left_px, y_px), (frame.right_px, y_px), "edge face")
    half_px = min(etched_half_width_m(view) * frame.px_per_m, frame.width_px / 2)
    left, right = frame.axis_px - half_px, frame.axis_px + half_px
    return group(
        line((frame.left_px, y_px), (left, y_px), "edge face"),
        line((left, y_px), (right, y_px), "hair dash"),
        line((right, y_px), (frame.right_px, y_px), "edge face"),
    )


def _points(view: SectionView, frame: Frame) -> Svg:
    """Draw a tick on the floor for each point a pulse train is fired at, ``pitch_m`` apart."""
    half_m = min(etched_half_width_m(view), frame.half_width_m) - view.spot_radius_m.value
    most = int(half_m / view.pitch_m + 1e-9) if half_m > 0.0 else 0
    if view.pitch_m * frame.px_per_m < 2.5:
        return group()
    y_px = frame.below(-etched_depth_m(view))
    ticks = (frame.across(k * view.pitch_m) for k in range(-most, most + 1))
    return group(*(line((x, y_px - 6), (x, y_px - 1), "hair point") for x in ticks))


def _labels(view: SectionView, frame: Frame) -> list[Label]:
    """Name each feature at a place where it can be seen."""
    spot_m, floor_m = view.spot_radius_m.value, -etched_depth_m(view)
    half_m = min(etched_half_width_m(view), 0.9 * frame.half_width_m)
    labels = [
        _label(frame, spot_m, floor_m, "spot radius", view.spot_radius_m),
        Label(
            x_px=frame.across(0.55 * half_m),
            y_px=frame.below(floor_m) - 6,
            words=show_quantity(view.pitch_m, "m"),
            note="between points",
        ),
    ]
    if view.etched_m is not None:
        labels.append(_label(frame, 0.8 * half_m, 0.4 * floor_m, "etched so far", view.etched_m))
    if view.column_m is not None:
        labels.append(_label(frame, spot_m, 0.8 * column_end_m(view), "superheated column", view.column_m))
    if view.bubble_radius_m is not None:
        radius_m = view.bubble_radius_m.value
        place = 0.8 * radius_m, bubble_centre_m(view) + 0.6 * radius_m
        labels.append(_label(frame, *place, "largest radius of the bubble", view.bubble_radius_m))
    return labels


def _label(frame: Frame, across_m: float, below_m: float, name: str, known: Known) -> Label:
    x_px, y_px = frame.point(across_m, below_m)
    return Label(x_px=x_px, y_px=y_px, words=show_known(known, "m"), note=f"{name}, {known.how}")
