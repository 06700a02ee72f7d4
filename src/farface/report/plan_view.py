"""Draw a part: its shapes with samples of their passes to scale, and a cut through the depth expected."""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from farface.kernel import Malformed, show_quantity
from farface.records import PassKind
from farface.report.depth_cut import DepthCut, checked, cut_panel, within_share
from farface.report.labels import heading, paragraph, wrapped
from farface.report.labels import width_px as words_px
from farface.report.look import canvas
from farface.report.pass_sample import sample_way
from farface.report.scale import scale_bar
from farface.report.svg import Point, Svg, document, element, group, line, text, way

Points = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanShape:
    """Hold one shape: its rings of points in metres, shape (n, 2), open for a line; and the depth wanted."""

    name: str
    kind: PassKind
    depth_m: float
    rings_m: tuple[Points, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanView:
    """Hold a part: shapes, the firing points of sample passes (shape (n, 2), metres), and one cut."""

    title: str
    invented: bool
    calibrated: bool
    shapes: tuple[PlanShape, ...]
    passes_m: tuple[Points, ...]
    cut: DepthCut | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class _Plan:
    """Map the drawing's coordinates, y upwards, to the picture."""

    left_px: float
    bottom_px: float
    low_m: Point
    px_per_m: float

    def at(self, x_m: float, y_m: float) -> Point:
        x_px = self.left_px + (x_m - self.low_m[0]) * self.px_per_m
        return x_px, self.bottom_px - (y_m - self.low_m[1]) * self.px_per_m


def passes_svg(view: PlanView, *, narrow: bool = False) -> str:
    """Draw the part from above and the cut beside it, or below it when ``narrow``.

    Raises `Malformed` when the part has no shapes or no size.
    """
    on = canvas(narrow=narrow)
    head, top_px = heading(view.title, invented=view.invented, calibrated=view.calibrated, on=on)
    side_px = (374.0, 340.0) if narrow else (430.0, 400.0)
    plan = _fitted(view, (on.margin_px, top_px + 6), side_px)
    body = [head, _plan_panel(view, plan, on.margin_px, side_px)]
    bottom_px = plan.bottom_px + 58
    if view.cut is not None:
        top_px = bottom_px + 34 if narrow else top_px + 30
        size_px = (318.0, 190.0) if narrow else (444.0, 300.0)
        body.append(cut_panel(checked(view.cut), (60.0 if narrow else 540.0, top_px), size_px))
        bottom_px = max(bottom_px, top_px + size_px[1] + 44)
    legend = wrapped(_LEGEND, "note", on.room_px)
    body.append(paragraph(on.margin_px, bottom_px + 18, legend, kind="note"))
    height_px = bottom_px + 18 + 16 * len(legend)
    title, says = f"Part: {view.title}", passes_caption(view)
    return document(title=title, says=says, width_px=on.width_px, height_px=height_px, body=body)


_LEGEND: Final = (
    "Fine lines: samples of the passes, thinned out. Cut, drawn with the far face on top: "
    "solid line expected, band 90 %, dashed line wanted."
)


def _fitted(view: PlanView, corner_px: Point, size_px: Point) -> _Plan:
    """Fit all shapes into a panel at one scale."""
    rings = [ring for shape in view.shapes for ring in shape.rings_m]
    if not rings:
        raise Malformed("the part has no shapes; it needs at least one closed shape. Check the drawing.")
    low, high = np.min([r.min(axis=0) for r in rings], axis=0), np.max([r.max(axis=0) for r in rings], axis=0)
    span = np.maximum(high - low, 1e-3 * float(np.max(high - low)))
    if not np.isfinite(span).all() or float(span.max()) <= 0.0:
        raise Malformed("the part's shapes have no finite size. Check the drawing.")
    scale = float(np.min(np.array(size_px) / (1.08 * span)))
    left_px = corner_px[0] + (size_px[0] - float(span[0]) * scale) / 2
    used_px = min(size_px[1], 1.08 * float(span[1]) * scale)
    bottom_px = corner_px[1] + used_px - 0.04 * float(span[1]) * scale
    return _Plan(left_px=left_px, bottom_px=bottom_px, low_m=(float(low[0]), float(low[1])), px_per_m=scale)


def _plan_panel(view: PlanView, plan: _Plan, left_px: float, size_px: Point) -> Svg:
    samples = (
        element("path", d=sample_way(points, plan.px_per_m, plan.at), class_="ff-pass")
        for points in view.passes_m
    )
    drawn = [group(*samples, class_="ff-passes")]
    for shape in view.shapes:
        rings = "".join(
            way([plan.at(float(x), float(y)) for x, y in ring], closed=shape.kind != "line")
            for ring in shape.rings_m
        )
        drawn.append(element("path", d=rings, class_="ff-edge ff-shape"))
    drawn.extend(_shape_words(shape, plan) for shape in view.shapes)
    if view.cut is not None:
        ends = plan.at(*view.cut.start_m), plan.at(*view.cut.end_m)
        drawn.append(line(*ends, "accent-line dash"))
    bar_px = plan.bottom_px + 42
    bar = scale_bar(plan.px_per_m, right_px=left_px + size_px[0], y_px=bar_px, longest_px=0.3 * size_px[0])
    return group(*drawn, text(left_px, bar_px + 4.5, "part, to scale", kind="note"), bar, class_="ff-plan")


def _shape_words(shape: PlanShape, plan: _Plan) -> Svg:
    """Write a shape's name and wanted depth below it, if it is wide enough to tell which is meant."""
    low, high = shape.rings_m[0].min(axis=0), shape.rings_m[0].max(axis=0)
    words = f"{shape.name}: {shape.kind}, {show_quantity(shape.depth_m, 'm')}"
    if float(high[0] - low[0]) * plan.px_per_m < 0.8 * words_px(words, "note"):
        return group()
    x_px, y_px = plan.at(float(low[0] + high[0]) / 2, float(low[1]))
    return text(x_px, y_px + 16, words, kind="note ink halo", anchor="middle")


def passes_caption(view: PlanView) -> str:
    """Say what to conclude from the part's picture."""
    count = len(view.shapes)
    parts = [f"{count} {'shape' if count == 1 else 'shapes'}."]
    if view.cut is not None:
        share = within_share(view.cut)
        parts.append(
            f"On {share:.0%} of what the cut should deepen, the expected depth is within the tolerance."
        )
        if np.any((view.cut.low_m > view.cut.wanted_m + view.cut.tolerance_m) & (view.cut.wanted_m > 0.0)):
            parts.append("Somewhere even the shallow end of the band is too deep.")
    if not view.calibrated:
        parts.append("Not calibrated: prior only; try it on a coupon first.")
    return " ".join(parts)
