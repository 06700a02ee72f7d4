"""Draw the cell to scale: a cut along the camera's view, and the seats of plates of several thicknesses."""

from collections.abc import Sequence
from dataclasses import dataclass

from farface.kernel import show_quantity
from farface.prepare.cell import CellPlan
from farface.report.labels import Column, Label, beside, heading, paragraph, wrapped
from farface.report.look import canvas
from farface.report.scale import scale_bar
from farface.report.svg import Point, Svg, document, group, line, polyline, rect, text

_TOP_SHARE = 0.16  # of the cell's height, shown above its cover for the beam
_PANEL_PX = 470.0
_LEFT_PX = 250.0
_SEAT_PX, _SEAT_TALL_PX = 150.0, 210.0


@dataclass(frozen=True, slots=True, kw_only=True)
class CellView:
    """Hold what the drawing shows; ``others`` are the same cell with seats for other plates.

    ``camera_m`` is how far the camera's lens stands from the outer wall, None without a camera.
    """

    title: str
    invented: bool
    plan: CellPlan
    others: tuple[CellPlan, ...] = ()
    camera_m: float | None = None


def cell_svg(view: CellView) -> str:
    """Draw the cut and, where there are other plates, the seats, on one canvas."""
    on = canvas(narrow=False)
    head, top_px = heading(view.title, invented=view.invented, calibrated=True, on=on)
    cut, bottom_px = _cut(view, top_px + 8)
    plans = (view.plan, *view.others)
    seats, end_px = _seats(plans, bottom_px + 46) if view.others else (group(), bottom_px)
    note = wrapped(_LEGEND + (_SEATS_LEGEND if view.others else ""), "note", on.room_px)
    body = [head, cut, seats, paragraph(on.margin_px, end_px + 26, note, kind="note")]
    height_px = end_px + 26 + 16 * len(note)
    return document(
        title=view.title, says=cell_caption(view), width_px=on.width_px, height_px=height_px, body=body
    )


def cell_caption(view: CellView) -> str:
    """Say what to conclude from the drawing."""
    if not view.others:
        level = show_quantity(view.plan.seat_m, "m", digits=4)
        return f"The bath just wets the far face when it stands {level} above the floor, at the level lines."
    levels = [(plan.order.thickness_m, plan.seat_m) for plan in (view.plan, *view.others)]
    told = "; ".join(
        f"{show_quantity(seat, 'm', digits=4)} for a plate of {show_quantity(thick, 'm')}"
        for thick, seat in levels
    )
    return (
        "Front faces stand at one height, so the lens need not be set anew; seat and level stand at "
        f"{told}: they differ by what the plates do."
    )


_LEGEND = "Cut along the camera's view, to scale; rails stand beyond the plane of the cut. "
_SEATS_LEGEND = "Below: one seat for each plate, to scale; the dashed line is the height of every front face."


@dataclass(frozen=True, slots=True, kw_only=True)
class _Scale:
    """Map metres along the cell (0 in the middle) and above its floor to the picture."""

    px_per_m: float
    middle_px: float
    floor_px: float

    def at(self, x_m: float, y_m: float) -> Point:
        """Give the place in the picture."""
        return self.middle_px + x_m * self.px_per_m, self.floor_px - y_m * self.px_per_m

    def box(self, x_m: tuple[float, float], y_m: tuple[float, float], kind: str) -> Svg:
        """Draw a rectangle between two places along and two heights."""
        (left, bottom), (right, top) = self.at(x_m[0], y_m[0]), self.at(x_m[1], y_m[1])
        return rect(left, top, right - left, bottom - top, class_=kind)


def _cut(view: CellView, top_px: float) -> tuple[Svg, float]:
    plan, order = view.plan, view.plan.order
    half, s = 0.5 * order.length_m, order.sheet_m
    total_m = order.height_m * (1.0 + _TOP_SHARE) + 2.0 * s
    px_per_m = min(_PANEL_PX / (2 * half + 2 * s), 330.0 / total_m)
    at = _Scale(
        px_per_m=px_per_m,
        middle_px=_LEFT_PX + 0.5 * _PANEL_PX,
        floor_px=top_px + (total_m - s) * px_per_m,
    )
    walls = (
        ((-half - s, half + s), (-s, 0.0)),
        ((-half - s, -half), (0.0, order.height_m)),
        ((half, half + s), (0.0, order.height_m)),
    )
    bottom_px = at.floor_px + s * px_per_m
    drawn = [
        at.box((-half, half), (0.0, plan.seat_m), "ff-bath"),
        at.box((-half, half), (0.0, plan.seat_m), "ff-none ff-hair ff-dash"),
        *(at.box(*wall, "ff-nothing") for wall in walls),
        *(at.box(*wall, "ff-outline-thin") for wall in walls),
        _plate(plan, at, 0.5 * order.plate_length_m),
        _cover(plan, at),
        _beam(plan, at),
        scale_bar(px_per_m, right_px=at.at(half, 0.0)[0], y_px=bottom_px + 18, longest_px=140.0),
        beside(_left_words(view, at), _column(at, top_px, bottom_px, left=True)),
        beside(_right_words(plan, at), _column(at, top_px, bottom_px, left=False)),
    ]
    return group(*drawn), bottom_px + 24


def _column(at: _Scale, top_px: float, bottom_px: float, *, left: bool) -> Column:
    edge = at.middle_px + (-1 if left else 1) * (0.5 * _PANEL_PX + 4)
    return Column(
        edge_px=edge,
        text_px=edge - 24 if left else edge + 24,
        room_px=200.0,
        top_px=top_px,
        bottom_px=bottom_px,
    )


def _plate(plan: CellPlan, at: _Scale, half_m: float) -> Svg:
    heights = (plan.seat_m, plan.order.front_height_m)
    return group(
        at.box((-half_m, half_m), heights, "ff-glass"), at.box((-half_m, half_m), heights, "ff-edge")
    )


def _cover(plan: CellPlan, at: _Scale) -> Svg:
    order = plan.order
    outer, inner = 0.5 * order.length_m + order.sheet_m, 0.5 * plan.opening_length_m
    heights = (order.height_m, order.height_m + order.sheet_m)
    sides = ((-outer, -inner), (inner, outer))
    return group(
        *(at.box(ends, heights, kind) for ends in sides for kind in ("ff-nothing", "ff-outline-thin"))
    )


def _beam(plan: CellPlan, at: _Scale) -> Svg:
    """Draw the beam's edges at both ends of the field and in the middle, down to the far face."""
    order = plan.order
    up_m = order.height_m * (1.0 + _TOP_SHARE) + order.sheet_m
    spread_m = (up_m - plan.seat_m) * order.cone_slope
    places = (-0.5 * order.field_m, 0.0, 0.5 * order.field_m)
    cones = [
        polyline((at.at(x - spread_m, up_m), at.at(x, plan.seat_m), at.at(x + spread_m, up_m)), "accent-line")
        for x in places
    ]
    return group(*cones)


def _left_words(view: CellView, at: _Scale) -> tuple[Label, ...]:
    plan, order = view.plan, view.plan.order
    wall = -0.5 * order.length_m - 0.5 * order.sheet_m
    found = [
        _label(at, (wall, 0.75 * order.height_m),
            "front wall, to the "
            "camera", show_quantity(order.sheet_m, "m")),
        _label(
            at, (-0.47 * order.length_m, plan.seat_m), "level at the far face",
            f"{show_quantity(plan.seat_m, 'm', digits=4)} above the floor",
        ),
    ]  # fmt: skip
    if view.camera_m is not None:
        stand = f"{show_quantity(view.camera_m, 'm')} before this wall, looking along the face"
        found.append(_label(at, (wall, 0.5 * plan.seat_m), "camera's lens", stand))
    return tuple(found)


def _right_words(plan: CellPlan, at: _Scale) -> tuple[Label, ...]:
    order = plan.order
    half = 0.5 * order.length_m
    cover_m, back_m = order.height_m + 0.5 * order.sheet_m, half + 0.5 * order.sheet_m
    thick = show_quantity(order.thickness_m, "m")
    return (
        _label(at, (half, cover_m), "splash cover", f"opening {show_quantity(plan.opening_length_m, 'm')}"),
        _label(at, (0.5 * order.field_m, order.height_m * 0.7), "end of the field", "focus: far face"),
        _label(at, (0.49 * order.plate_length_m, order.front_height_m), "plate", thick),
        _label(at, (back_m, 0.3 * plan.seat_m), "back wall, drain side", "light behind it"),
    )  # fmt: skip


def _label(at: _Scale, place_m: tuple[float, float], words: str, note: str) -> Label:
    x_px, y_px = at.at(*place_m)
    return Label(x_px=x_px, y_px=y_px, words=words, note=note)


def _seats(plans: Sequence[CellPlan], top_px: float) -> tuple[Svg, float]:
    """Draw the top of one rail for each plate, front faces in line, at one scale."""
    thickest_m = max(plan.order.thickness_m for plan in plans)
    px_per_m = min(0.55 * _SEAT_TALL_PX / thickest_m, 90e3)
    front_px = top_px + 34
    drawn = [line((60, front_px), (80 + len(plans) * (_SEAT_PX + 60), front_px), "hair dash")]
    for k, plan in enumerate(plans):
        drawn.append(_seat(plan, 80 + k * (_SEAT_PX + 60), front_px, top_px + _SEAT_TALL_PX, px_per_m))
    right_px = 80 + len(plans) * (_SEAT_PX + 60) + 110
    drawn.append(scale_bar(px_per_m, right_px=right_px, y_px=top_px + _SEAT_TALL_PX - 8, longest_px=110.0))
    return group(*drawn), top_px + _SEAT_TALL_PX + 22


def _seat(plan: CellPlan, left_px: float, front_px: float, bottom_px: float, px_per_m: float) -> Svg:
    seat_px = front_px + plan.order.thickness_m * px_per_m
    rail_px = 0.36 * _SEAT_PX
    thick, level = show_quantity(plan.order.thickness_m, "m"), show_quantity(plan.seat_m, "m", digits=4)
    return group(
        rect(left_px, seat_px, _SEAT_PX, bottom_px - seat_px, class_="ff-bath"),
        rect(left_px, seat_px, rail_px, bottom_px - seat_px, class_="ff-nothing"),
        rect(left_px, seat_px, rail_px, bottom_px - seat_px, class_="ff-outline-thin"),
        rect(left_px + 12, front_px, _SEAT_PX - 12, seat_px - front_px, class_="ff-glass"),
        rect(left_px + 12, front_px, _SEAT_PX - 12, seat_px - front_px, class_="ff-edge"),
        line((left_px + rail_px, seat_px), (left_px + _SEAT_PX + 14, seat_px), "accent-line"),
        text(left_px, front_px - 10, f"plate {thick}"),
        text(left_px, bottom_px + 16, f"seat and level {level}", kind="note"),
    )
