"""Draw the cell's flat panels: outlines with finger joints, openings, and lines that are only scored."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from farface.kernel import OutOfRange, show_quantity
from farface.prepare.cell import CellPlan

FINGER_M: Final = 12e-3  # about how wide a finger of a joint is: common practice, no source
DRAIN_RADIUS_M: Final = 3e-3
MOUSEHOLE_M: Final = 4e-3  # lets the bath pass under a rail
# Of a wall's length, each end of the level line: its middle stays clear to look through.
TICK_SHARE: Final = 0.12
SHEET_MIN_M, SHEET_MAX_M = 1.5e-3, 12e-3

Loop = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Panel:
    """Hold one panel: outline and holes to cut through, lines to score, words to place.

    Loops have shape (corner, 2), x to the right and y upwards, and close on themselves.
    """

    name: str
    outline_m: Loop
    holes_m: tuple[Loop, ...] = ()
    scores_m: tuple[Loop, ...] = ()
    words_at_m: tuple[tuple[float, float, str], ...] = ()

    @property
    def size_m(self) -> NDArray[np.float64]:
        """Give width and height."""
        return np.asarray(np.ptp(self.outline_m, axis=0))


def cell_panels(plan: CellPlan, *, kerf_m: float = 0.0) -> tuple[Panel, ...]:
    """Draw floor, four walls, two rails and the cover; each outline grows by half the kerf.

    At the floor's edges the floor holds the odd fingers and its corners, at the upright edges the front and
    back walls hold the first and last. Joints are glued, and tried with water before any bath.
    """
    sheet_m = plan.order.sheet_m
    if not SHEET_MIN_M <= sheet_m <= SHEET_MAX_M or not 0.0 <= kerf_m < 0.2 * sheet_m:
        raise OutOfRange(
            f"the sheet is {show_quantity(sheet_m, 'm')} thick and the cut {show_quantity(kerf_m, 'm')} "
            f"wide, but clear sheet for this is {show_quantity(SHEET_MIN_M, 'm')} to "
            f"{show_quantity(SHEET_MAX_M, 'm')} and a cut less than a fifth of it (common practice). "
            "Choose within that."
        )
    panels = (
        _floor(plan),
        _wall(plan, "front wall, to the camera", plan.order.width_m, upright_first=True, drain=False),
        _wall(plan, "back wall, drain side", plan.order.width_m, upright_first=True, drain=True),
        _wall(plan, "left wall", plan.order.length_m, upright_first=False, drain=False),
        _wall(plan, "right wall", plan.order.length_m, upright_first=False, drain=False),
        *(_rail(plan, side) for side in ("left", "right")),
        _cover(plan),
    )
    return tuple(_cut_wider(panel, kerf_m) for panel in panels)


def fingers(*, start_m: float, length_m: float, first: bool) -> Iterator[tuple[float, float]]:
    """Part an edge into an odd number of equal fingers; give the ends of every second one.

    ``first`` gives those that include both ends of the edge, else the ones between; together they fill it.
    """
    count = max(3, round(length_m / FINGER_M))
    count += 1 - count % 2
    step_m = length_m / count
    for k in range(0 if first else 1, count, 2):
        yield start_m + k * step_m, start_m + (k + 1) * step_m


def _floor(plan: CellPlan) -> Panel:
    order, s = plan.order, plan.order.sheet_m
    wide, long = order.width_m, order.length_m
    parts = [(s, s, s + wide, s + long)]
    parts += [(x, y, x + s, y + s) for x in (0.0, s + wide) for y in (0.0, s + long)]
    for low, high in fingers(start_m=s, length_m=wide, first=True):
        parts += [(low, 0.0, high, s), (low, s + long, high, long + 2 * s)]
    for low, high in fingers(start_m=s, length_m=long, first=True):
        parts += [(0.0, low, s, high), (s + wide, low, wide + 2 * s, high)]
    middle = s + 0.5 * wide
    rails = [
        _rectangle(x, s, x + s, s + long)
        for x in (middle - plan.rail_across_m - s, middle + plan.rail_across_m)
    ]
    words_at_m = ((middle, s + 0.5 * long, "floor"), (middle, s + 0.08 * long, "camera side"))
    return Panel(name="floor", outline_m=_joined(parts), scores_m=tuple(rails), words_at_m=words_at_m)


def _wall(plan: CellPlan, name: str, inner_m: float, *, upright_first: bool, drain: bool) -> Panel:
    order, s = plan.order, plan.order.sheet_m
    high = order.height_m
    parts = [(s, s, s + inner_m, s + high)]
    parts += [(low, 0.0, end, s) for low, end in fingers(start_m=s, length_m=inner_m, first=False)]
    for low, end in fingers(start_m=s, length_m=high, first=upright_first):
        parts += [(0.0, low, s, end), (s + inner_m, low, inner_m + 2 * s, end)]
    level = s + plan.seat_m
    tick = TICK_SHARE * inner_m
    scores_m = (
        np.array([[s, level], [s + tick, level]]),
        np.array([[s + inner_m - tick, level], [s + inner_m, level]]),
    )
    holes_m: tuple[Loop, ...] = ()
    if drain:
        beside = s + 0.5 * inner_m + plan.rail_across_m - 2.0 * DRAIN_RADIUS_M
        holes_m = (_circle(beside, s + 2.0 * DRAIN_RADIUS_M, DRAIN_RADIUS_M),)
    words_at_m = ((s + 0.5 * inner_m, s + 0.8 * high, name), (s + 2.0 * tick, level, "level"))
    return Panel(
        name=name, outline_m=_joined(parts), holes_m=holes_m, scores_m=scores_m, words_at_m=words_at_m
    )


def _rail(plan: CellPlan, side: str) -> Panel:
    """Draw a rail as long as the cell and as high as the seat, with two passages for the bath at its foot."""
    long, high = plan.order.length_m, plan.seat_m
    hole = min(MOUSEHOLE_M, 0.5 * high)
    notches = [_rectangle(x - hole, 0.0, x + hole, hole) for x in (0.25 * long, 0.75 * long)]
    outline_m = _without(_rectangle(0.0, 0.0, long, high), notches)
    return Panel(
        name=f"{side} rail (seat)",
        outline_m=outline_m,
        words_at_m=((0.5 * long, 0.5 * high, f"{side} rail"),),
    )


def _cover(plan: CellPlan) -> Panel:
    order, s = plan.order, plan.order.sheet_m
    wide, long = order.width_m + 2 * s, order.length_m + 2 * s
    half_w, half_l = 0.5 * plan.opening_width_m, 0.5 * plan.opening_length_m
    hole = _rectangle(0.5 * wide - half_w, 0.5 * long - half_l, 0.5 * wide + half_w, 0.5 * long + half_l)
    words_at_m = ((0.5 * wide, 0.06 * long, "splash cover"),)
    return Panel(
        name="splash cover",
        outline_m=_rectangle(0.0, 0.0, wide, long),
        holes_m=(hole,),
        words_at_m=words_at_m,
    )


def _rectangle(left: float, bottom: float, right: float, top: float) -> Loop:
    return np.array([[left, bottom], [right, bottom], [right, top], [left, top]])


def _circle(x: float, y: float, radius: float) -> Loop:
    angle = np.linspace(0.0, 2.0 * np.pi, 48, endpoint=False)
    return np.stack([x + radius * np.cos(angle), y + radius * np.sin(angle)], axis=1)


def _joined(parts: list[tuple[float, float, float, float]]) -> Loop:
    from shapely import box, union_all

    return _ring(union_all([box(*part) for part in parts], grid_size=1e-9).simplify(0.0))


def _without(outline_m: Loop, notches: list[Loop]) -> Loop:
    from shapely import Polygon, union_all

    return _ring(Polygon(outline_m).difference(union_all([Polygon(notch) for notch in notches])))


def _cut_wider(panel: Panel, kerf_m: float) -> Panel:
    """Move the outline out and the holes in by half the kerf, so that the parts come out to size."""
    if kerf_m == 0.0:
        return panel
    from shapely import Polygon

    def moved(loop: Loop, by_m: float) -> Loop:
        return _ring(Polygon(loop).buffer(by_m, join_style="mitre"))

    return Panel(
        name=panel.name,
        outline_m=moved(panel.outline_m, 0.5 * kerf_m),
        holes_m=tuple(moved(hole, -0.5 * kerf_m) for hole in panel.holes_m),
        scores_m=panel.scores_m,
        words_at_m=panel.words_at_m,
    )


def _ring(shape: object) -> Loop:
    """Give the outer ring of a polygon; more than one piece would be a panel that falls apart."""
    rings = np.asarray(shape.exterior.coords)  # type: ignore[attr-defined]
    return rings[:-1]
