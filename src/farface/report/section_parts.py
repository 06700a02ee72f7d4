"""Draw the parts that both panels of the section share: plate, bath, beam, floor, column and bubble."""

import math
from typing import Final

from farface.report.frame import Frame
from farface.report.known_text import is_soft
from farface.report.section_view import (
    SectionView,
    beam_radius_m,
    bubble_centre_m,
    etched_depth_m,
    etched_half_width_m,
)
from farface.report.soft import Paint, edged, fade_m, linear, round_edged
from farface.report.svg import Point, Svg, clip, element, group, line, local, polyline, rect, refer, way

_LIGHT_STOPS: Final = 12
_BEAM_OPACITY: Final = 0.5
# A soft beam is a few nested cones: its edge is curved, so no gradient follows it.
_CONES: Final = 7

Fill = dict[str, str | float]


def cut(view: SectionView, frame: Frame, *, name: str, over: Svg) -> Svg:
    """Draw plate, bath, floor, bubble, column and beam in a panel, and ``over`` on top, within its border.

    ``name`` tells the panel's gradients from those of the other panel.
    """
    drawn = group(
        _bath(view, frame, name),
        _plate(view, frame, name),
        _floor(view, frame, name),
        _light_in_bath(view, frame, name),
        _bubble(view, frame, name),
        _column(view, frame, name),
        _beam(view, frame),
        over,
        clip_path=refer(name),
    )
    inside = clip(name, frame.left_px, frame.top_px, frame.width_px, frame.height_px)
    border = rect(frame.left_px, frame.top_px, frame.width_px, frame.height_px, class_="ff-grid")
    return group(inside, drawn, border)


def light_left(view: SectionView, frame: Frame, name: str, *, kind: str, opacity: float) -> Svg:
    """Define a vertical gradient whose opacity is ``opacity`` times the light left, exp(-z/L)."""
    shares = [k / _LIGHT_STOPS for k in range(_LIGHT_STOPS + 1)]
    length_m = view.absorption_length_m.value
    stops = [(share, opacity * math.exp(-frame.bottom_m * share / length_m)) for share in shares]
    return linear(name, kind, stops, (0.0, frame.face_px), (0.0, frame.bottom_px))


def _bath(view: SectionView, frame: Frame, name: str) -> Svg:
    """Draw the bath down to the cell's floor or the panel's edge, shaded by the light left at each depth."""
    bottom_px = min(frame.bottom_px, frame.below(view.liquid_depth_m))
    at = (frame.left_px, frame.face_px, frame.width_px, bottom_px - frame.face_px)
    shade = f"{name}-light"
    parts = [
        light_left(view, frame, shade, kind="bath", opacity=0.6),
        rect(*at, class_="ff-bath", fill_opacity=0.16),
        rect(*at, fill=refer(shade)),
    ]
    if bottom_px < frame.bottom_px:
        parts.append(line((frame.left_px, bottom_px), (frame.right_px, bottom_px), "edge cell"))
    return group(*parts, class_="ff-liquid")


def _plate(view: SectionView, frame: Frame, name: str) -> Svg:
    """Draw the plate above the far face; its front face is soft when its thickness is."""

    def slab(thickness_m: float, fill: Fill) -> Svg:
        top_px = max(frame.top_px, frame.below(-thickness_m))
        return rect(frame.left_px, top_px, frame.width_px, frame.face_px - top_px, **fill)

    paint = Paint(kind="glass", name=f"{name}-plate", opacity=1.0)
    drawn = edged(view.thickness_m, paint, lambda t: frame.below(-t), slab)
    front_px = frame.below(-view.thickness_m.value)
    if is_soft(view.thickness_m) or front_px < frame.top_px:
        return group(drawn, class_="ff-plate")
    front = line((frame.left_px, front_px), (frame.right_px, front_px), "hair")
    return group(drawn, front, class_="ff-plate")


def _floor(view: SectionView, frame: Frame, name: str) -> Svg:
    """Draw the etched floor: a hollow in the glass from the untouched face up to the depth so far."""
    if view.etched_m is None:
        return group()
    half_m = min(etched_half_width_m(view), frame.half_width_m)
    left_px, right_px = frame.across(-half_m), frame.across(half_m)

    def hollow(depth_m: float, fill: Fill) -> Svg:
        top_px = frame.below(-min(depth_m, view.thickness_m.value))
        return rect(left_px, top_px, right_px - left_px, frame.face_px - top_px, **fill)

    paint = Paint(kind="hollow", name=f"{name}-floor", opacity=1.0)
    drawn = edged(view.etched_m, paint, lambda d: frame.below(-d), hollow)
    if is_soft(view.etched_m):
        return group(drawn, class_="ff-floor")
    floor_px = frame.below(-etched_depth_m(view))
    rim = ((left_px, frame.face_px), (left_px, floor_px), (right_px, floor_px), (right_px, frame.face_px))
    return group(drawn, polyline(rim, "edge"), class_="ff-floor")


def _light_in_bath(view: SectionView, frame: Frame, name: str) -> Svg:
    """Draw the light that goes on below the floor, fading as the bath absorbs it."""
    end_m = min(frame.bottom_m, view.liquid_depth_m)
    cone = _cone(view, frame, -etched_depth_m(view), end_m, 0.0)
    gradient = light_left(view, frame, f"{name}-beam", kind="accent", opacity=_BEAM_OPACITY)
    return group(gradient, element("path", d=cone, fill=refer(f"{name}-beam")))


def _beam(view: SectionView, frame: Frame) -> Svg:
    """Draw the light cone from the panel's top to the etched floor; soft when the spot's size is."""
    spot = view.spot_radius_m
    floor_m = -etched_depth_m(view)
    if not is_soft(spot):
        wider_m, faint, kind = [0.0], _BEAM_OPACITY, "ff-sharp"
    else:
        half_m = fade_m(spot, frame.px_per_m)
        wider_m = [half_m * (2.0 * k / (_CONES - 1) - 1.0) for k in range(_CONES)]
        faint, kind = 1.0 - (1.0 - _BEAM_OPACITY) ** (1.0 / _CONES), "ff-soft"
    cones = (_cone(view, frame, floor_m, frame.top_m, w) for w in wider_m)
    shapes = (element("path", d=d, class_="ff-accent", fill_opacity=faint) for d in cones)
    return group(*shapes, class_=f"ff-beam {kind}")


def _cone(view: SectionView, frame: Frame, from_m: float, to_m: float, wider_m: float) -> str:
    """Write the outline of the light between two heights, ``wider_m`` more to each side."""
    heights = [from_m + (to_m - from_m) * (k / 20) ** 2 for k in range(21)]
    front_m = -view.thickness_m.value
    if to_m < front_m < from_m:
        heights = sorted([*heights, front_m], reverse=True)
    right: list[Point] = []
    for below_m in heights:
        right.append(frame.point(max(0.0, beam_radius_m(view, below_m) + wider_m), below_m))
    left = [(2 * frame.axis_px - x, y) for x, y in reversed(right)]
    return way([*right, *left], closed=True)


def _column(view: SectionView, frame: Frame, name: str) -> Svg:
    """Draw the superheated column from the floor into the bath, as wide as the spot."""
    if view.column_m is None:
        return group()
    half_px = view.spot_radius_m.value * frame.px_per_m
    floor_px = frame.below(-etched_depth_m(view))

    def hot(length_m: float, fill: Fill) -> Svg:
        return rect(frame.axis_px - half_px, floor_px, 2 * half_px, length_m * frame.px_per_m, **fill)

    paint = Paint(kind="accent", name=f"{name}-column", opacity=0.55)
    drawn = edged(view.column_m, paint, lambda x: floor_px + x * frame.px_per_m, hot)
    return group(drawn, class_="ff-column")


def _bubble(view: SectionView, frame: Frame, name: str) -> Svg:
    """Draw the bubble at its largest, a ball about the column's middle cut off by the glass.

    Leaves out how the glass flattens it.
    """
    known = view.bubble_radius_m
    if known is None:
        return group()
    centre_px = frame.point(0.0, bubble_centre_m(view))
    ends = {"cx": centre_px[0], "cy": centre_px[1]}

    def ball(radius_m: float, fill: Fill) -> Svg:
        return element("circle", **ends, r=radius_m * frame.px_per_m, **fill)

    paint = Paint(kind="vapour", name=f"{name}-bubble", opacity=0.94)
    drawn = [round_edged(known, paint, centre_px, ball, px_per_m=frame.px_per_m)]
    if not is_soft(known):
        drawn.append(ball(known.value, {"class_": "ff-edge"}))
    clipped = f"{name}-liquid"
    return group(
        _liquid_clip(view, frame, clipped), group(*drawn, clip_path=refer(clipped)), class_="ff-bubble"
    )


def _liquid_clip(view: SectionView, frame: Frame, name: str) -> Svg:
    """Define a clip to where liquid or vapour can be: the bath, and the etched floor's hollow."""
    depth_px = etched_depth_m(view) * frame.px_per_m
    half_px = etched_half_width_m(view) * frame.px_per_m
    hollow = rect(frame.axis_px - half_px, frame.face_px - depth_px, 2 * half_px, depth_px)
    below = rect(frame.left_px, frame.face_px, frame.width_px, frame.bottom_px - frame.face_px)
    return element("clipPath", hollow, below, id=local(name))
