"""Lay out the cell: what its walls, seat and cover must be for a plate, a level, a beam and a camera."""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Final

from farface.kernel import OutOfRange, show_quantity
from farface.prepare.fill import GAP_MIN_M, Inside, require_room, seat_height_m

# Cast clear acrylic at 1064 nm and in the visible, to a hundredth; from memory [acrylic].
WALL_INDEX: Final = 1.48
LEDGE_M: Final = 3e-3  # how much of the plate's edge rests on a rail: common practice, no source
AROUND_BEAM_M: Final = 3e-3  # kept free around the beam where it passes the cover: common practice
# A bubble feels a wall nearer than about three of its radii: common practice, no source.
BUBBLE_RADII: Final = 3.0
FLOOR_SHARE_MOST: Final = 0.01  # of the light may reach the floor, else the floor is worked too


@dataclass(frozen=True, slots=True, kw_only=True)
class CellOrder:
    """Say what the cell is for; lengths are inner ones, ``front_height_m`` is where the lens expects glass.

    ``cone_slope`` is the beam's radius over the distance from its focus, in air. ``deepest_m`` and
    ``bubble_m`` are the deepest burst and the largest bubble to expect.
    """

    width_m: float
    length_m: float
    height_m: float
    plate_width_m: float
    plate_length_m: float
    thickness_m: float
    front_height_m: float
    sheet_m: float
    field_m: float
    cone_slope: float
    liquid_index: float
    absorption_per_m: float
    deepest_m: float
    bubble_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Clearance:
    """Hold one distance that must be kept, what there is, and whether that will do."""

    name: str
    there_m: float
    needed_m: float

    @property
    def kept(self) -> bool:
        """Tell whether the distance is kept."""
        return self.there_m >= self.needed_m


@dataclass(frozen=True, slots=True, kw_only=True)
class CellPlan:
    """Hold a cell that was found to hold together: the order, the seat, the rails, the cover's opening."""

    order: CellOrder
    seat_m: float
    rail_across_m: float
    opening_width_m: float
    opening_length_m: float
    clearances: tuple[Clearance, ...]
    floor_share: float

    @property
    def rim_above_front_m(self) -> float:
        """Give how far the rim stands above the front face."""
        return self.order.height_m - self.order.front_height_m

    @property
    def cover_above_front_m(self) -> float:
        """Give how far the cover's top stands above the front face."""
        return self.rim_above_front_m + self.order.sheet_m

    @property
    def inside(self) -> Inside:
        """Give the inner lengths with the floor that the two rails take."""
        order = self.order
        rails_m2 = 2.0 * order.sheet_m * order.length_m
        return Inside(
            width_m=order.width_m, length_m=order.length_m, height_m=order.height_m, risers_m2=rails_m2
        )

    def for_thickness(self, thickness_m: float) -> "CellPlan":
        """Give the same cell with the seat that another plate needs."""
        return plan_cell(replace(self.order, thickness_m=thickness_m))


def plan_cell(order: CellOrder) -> CellPlan:
    """Lay out a cell with two rails along the camera's view, so that it looks in under the plate freely.

    Raises `OutOfRange` for a cell smaller than its plate, a plate whose rails would meet the beam, a rim
    lower than the front face, and a cover opening wider than the cell.
    """
    seat = seat_height_m(front_height_m=order.front_height_m, thickness_m=order.thickness_m)
    require_room(
        Inside(width_m=order.width_m, length_m=order.length_m, height_m=order.height_m),
        plate_width_m=order.plate_width_m,
        plate_height_m=order.plate_length_m,
    )
    _require_wide_plate(order)
    _require_rim(order)
    above_m = order.height_m - order.front_height_m + order.thickness_m
    beam_m = order.field_m + 2.0 * above_m * order.cone_slope
    opening_m = beam_m + 2.0 * AROUND_BEAM_M
    for inner_m in (order.width_m, order.length_m):
        if opening_m > inner_m:
            raise OutOfRange(
                f"the beam needs an opening of {show_quantity(opening_m, 'm')} in the cover, but the cell "
                f"is {show_quantity(inner_m, 'm')} inside (geometry). Work a smaller field, lower the "
                "rim, or build a wider cell."
            )
    return CellPlan(
        order=order,
        seat_m=seat,
        rail_across_m=0.5 * order.plate_width_m - LEDGE_M,
        opening_width_m=opening_m,
        opening_length_m=opening_m,
        clearances=tuple(_clearances(order, seat)),
        floor_share=math.exp(-order.absorption_per_m * seat),
    )


def camera_stand_m(*, working_m: float, wall_m: float, liquid_m: float, liquid_index: float) -> float:
    """Give how far the camera's lens stands from the outer wall to see a plane in the bath sharply.

    s = d - wall/n_wall - liquid/n_liquid, paraxially [smith2008]: liquid and wall bring a plane nearer.
    Raises `OutOfRange` for a lens that cannot reach so far in.
    """
    stand_m = working_m - wall_m / WALL_INDEX - liquid_m / liquid_index
    if stand_m <= 0.0:
        raise OutOfRange(
            f"the camera's lens is sharp at {show_quantity(working_m, 'm')}, but wall and liquid before "
            f"the place it should see already count as {show_quantity(working_m - stand_m, 'm')} of air "
            "(geometry). Take a lens with more working distance, or a narrower cell."
        )
    return stand_m


def _require_wide_plate(order: CellOrder) -> None:
    aperture_m = order.plate_width_m - 2.0 * LEDGE_M
    if order.field_m > aperture_m:
        raise OutOfRange(
            f"the field is {show_quantity(order.field_m, 'm')} wide, but between the rails the plate is "
            f"free over {show_quantity(max(aperture_m, 0.0), 'm')} (each rail bears "
            f"{show_quantity(LEDGE_M, 'm')} of it, common practice). Work a smaller field, or take a "
            "wider plate."
        )


def _require_rim(order: CellOrder) -> None:
    if order.front_height_m >= order.height_m:
        raise OutOfRange(
            f"the front face is to stand {show_quantity(order.front_height_m, 'm')} above the floor, but "
            f"the cell is {show_quantity(order.height_m, 'm')} high inside (rig.toml, geometry). Build a "
            "higher cell."
        )


def _clearances(order: CellOrder, seat_m: float) -> Iterator[Clearance]:
    half_field_m = 0.5 * order.field_m
    reach_m = BUBBLE_RADII * order.bubble_m
    beside_m = 0.5 * min(order.plate_width_m - 2.0 * LEDGE_M, order.length_m) - half_field_m
    yield Clearance(
        name="from the plate to the walls",
        there_m=0.5 * min(order.width_m - order.plate_width_m, order.length_m - order.plate_length_m),
        needed_m=GAP_MIN_M,
    )
    yield Clearance(
        name="from the beam to rails and walls, in the bath",
        there_m=beside_m - seat_m * order.cone_slope / order.liquid_index,
        needed_m=0.0,
    )
    yield Clearance(name="from the outermost bubble to rails and walls", there_m=beside_m, needed_m=reach_m)
    yield Clearance(
        name="from the deepest burst to the floor", there_m=seat_m - order.deepest_m, needed_m=reach_m
    )
