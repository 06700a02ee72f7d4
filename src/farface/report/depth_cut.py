"""Draw a cut through a part: the depth expected with its band, against the depth wanted."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from farface.kernel import Malformed
from farface.report.scale import Scale, even_ticks, tick_words
from farface.report.svg import Point, Svg, element, group, line, polyline, rect, text, way

Points = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class DepthCut:
    """Hold depths along a straight cut, arrays of shape (n,); the band is the 90 % one."""

    start_m: Point
    end_m: Point
    along_m: Points
    wanted_m: Points
    tolerance_m: float
    median_m: Points
    low_m: Points
    high_m: Points


def checked(cut: DepthCut) -> DepthCut:
    """Refuse a cut whose arrays differ in length or are not finite."""
    arrays = (cut.along_m, cut.wanted_m, cut.median_m, cut.low_m, cut.high_m)
    if (
        len({a.shape for a in arrays}) != 1
        or cut.along_m.size < 2
        or not all(np.isfinite(a).all() for a in arrays)
    ):
        raise Malformed("the cut's arrays differ in length, hold fewer than two points or are not finite.")
    return cut


def within_share(cut: DepthCut) -> float:
    """Give the share of the points that should be deep whose expected depth lies within the tolerance."""
    deep = cut.wanted_m > 0.0
    if not deep.any():
        return 1.0
    return float(np.mean(np.abs(cut.median_m - cut.wanted_m)[deep] <= cut.tolerance_m))


def cut_panel(cut: DepthCut, corner_px: Point, size_px: Point) -> Svg:
    """Draw the cut with the far face on top and depth downwards, in mm along and um deep."""
    (left_px, top_px), (width_px, height_px) = corner_px, size_px
    along = Scale(
        low=1e3 * float(cut.along_m.min()),
        high=1e3 * float(cut.along_m.max()),
        start_px=left_px,
        end_px=left_px + width_px,
    )
    deepest_um = 1e6 * max(float(cut.high_m.max()), float(cut.wanted_m.max()) + cut.tolerance_m, 1e-9)
    depth = Scale(low=0.0, high=1.1 * deepest_um, start_px=top_px, end_px=top_px + height_px)
    stretch = (height_px / (1e-6 * depth.high)) / (width_px / (1e-3 * (along.high - along.low)))
    title = text(left_px, top_px - 10, f"cut, depth stretched {stretch:.2g} ×")
    shapes = (
        _glass(along, depth),
        *_axes(along, depth),
        _band(cut, along, depth),
        *_lines(cut, along, depth),
    )
    return group(title, *shapes, class_="ff-cut")


def _glass(along: Scale, depth: Scale) -> Svg:
    size = along.end_px - along.start_px, depth.end_px - depth.start_px
    return rect(along.start_px, depth.start_px, *size, class_="ff-glass")


def _axes(along: Scale, depth: Scale) -> list[Svg]:
    drawn: list[Svg] = []
    for tick in even_ticks(depth.low, depth.high, 6):
        y_px = depth.at(tick)
        drawn.append(line((along.start_px, y_px), (along.end_px, y_px), "grid"))
        drawn.append(text(along.start_px - 6, y_px + 4, tick_words(tick), kind="note", anchor="end"))
    for tick in even_ticks(along.low, along.high, 7):
        x_px = along.at(tick)
        drawn.append(line((x_px, depth.end_px), (x_px, depth.end_px + 4), "hair"))
        drawn.append(text(x_px, depth.end_px + 18, tick_words(tick), kind="note", anchor="middle"))
    drawn.append(text(along.end_px, depth.end_px + 36, "along the cut, mm", anchor="end"))
    middle_px = (depth.start_px + depth.end_px) / 2
    drawn.append(text(along.start_px - 41, middle_px, "depth, um", anchor="middle", turned=True))
    return drawn


def _curve(values_m: Points, cut: DepthCut, along: Scale, depth: Scale) -> list[Point]:
    pairs = zip(cut.along_m, values_m, strict=True)
    return [(along.at(1e3 * float(x)), depth.at(1e6 * float(z))) for x, z in pairs]


def _band(cut: DepthCut, along: Scale, depth: Scale) -> Svg:
    edge = [*_curve(cut.low_m, cut, along, depth), *reversed(_curve(cut.high_m, cut, along, depth))]
    return element("path", d=way(edge, closed=True), class_="ff-accent ff-band", fill_opacity=0.25)


def _lines(cut: DepthCut, along: Scale, depth: Scale) -> list[Svg]:
    face = line((along.start_px, depth.start_px), (along.end_px, depth.start_px), "edge face")
    expected = polyline(_curve(cut.median_m, cut, along, depth), "accent-line expected")
    return [face, expected, polyline(_curve(cut.wanted_m, cut, along, depth), "edge dash wanted")]
