"""Lay out the cell of a bench for its plate, from rig, bath and the bursts to expect."""

import math
from dataclasses import dataclass
from typing import Final

from farface.app.draws import current_draws
from farface.app.focus import worked_field_m
from farface.app.settings import Typed, setting_of
from farface.app.workbench import Workbench
from farface.etch.explain import Explanation, explain
from farface.journal import Input
from farface.kernel import parse_quantity
from farface.materials import liquid
from farface.materials.aqueous import ZERO_CELSIUS_K
from farface.optics.bath import absorption_per_m
from farface.prepare.cell import CellOrder, CellPlan, camera_stand_m, plan_cell
from farface.prepare.fill import Filling, fill
from farface.prepare.recipe import bath_density_kg_per_m3

SHEET: Final = "4 mm"
KERF: Final = "0.15 mm"
ROOM_K: Final = 20.0 + ZERO_CELSIUS_K


@dataclass(frozen=True, slots=True, kw_only=True)
class CellTyped:
    """Hold what was typed: sheet and cut, the cell's length, field, other plates, the camera's reach."""

    sheet: str = SHEET
    kerf: str = KERF
    length: str | None = None
    field: str | None = None
    also: tuple[str, ...] = ()
    camera_distance: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchCell:
    """Hold the cell of a bench, its fill, the same for other plates, and the records it rests on."""

    plan: CellPlan
    filled: Filling
    others: tuple[tuple[CellPlan, Filling], ...]
    camera_m: float | None
    inputs: tuple[Input, ...]


def bench_cell(work: Workbench, typed: CellTyped) -> BenchCell:
    """Lay out the cell of rig.toml for its plate, and seats for others, without writing anything."""
    etch = work.etch()
    draws = current_draws(work, etch)
    plan = plan_cell(_order(work, typed, explain(etch, setting_of(work.rig, Typed()), draws.values)))
    density = bath_density_kg_per_m3(work.bath, temperature_k=ROOM_K)

    def filled(one: CellPlan) -> Filling:
        return fill(
            one.inside, level_m=one.seat_m, thickness_m=one.order.thickness_m, density_kg_per_m3=density
        )

    others = tuple(
        plan.for_thickness(parse_quantity(text, "m", what="the other plate")) for text in typed.also
    )
    camera_m = None
    if typed.camera_distance is not None:
        camera_m = camera_stand_m(
            working_m=parse_quantity(typed.camera_distance, "m", what="the camera's working distance"),
            wall_m=plan.order.sheet_m,
            liquid_m=0.5 * plan.order.length_m,
            liquid_index=_visible_index(),
        )
    return BenchCell(
        plan=plan,
        filled=filled(plan),
        others=tuple((other, filled(other)) for other in others),
        camera_m=camera_m,
        inputs=draws.inputs,
    )


def _order(work: Workbench, typed: CellTyped, told: Explanation) -> CellOrder:
    rig = work.rig
    plate, cell = rig.plate, rig.cell
    bubble_m = told.step("largest bubble").high
    length_m = None if typed.length is None else parse_quantity(typed.length, "m", what="the cell's length")
    return CellOrder(
        width_m=cell.width_m,
        length_m=length_m or max(cell.width_m, plate.height_m + 10e-3),
        height_m=cell.height_m,
        plate_width_m=plate.width_m,
        plate_length_m=plate.height_m,
        thickness_m=plate.thickness_m.value,
        front_height_m=cell.liquid_depth_m + plate.thickness_m.value,
        sheet_m=parse_quantity(typed.sheet, "m", what="the sheet"),
        field_m=worked_field_m(rig, typed.field),
        cone_slope=rig.lens.beam_radius_m / rig.lens.focal_m,
        liquid_index=liquid("water").index(rig.laser.wavelength_m),
        absorption_per_m=absorption_per_m(work.bath, wavelength_m=rig.laser.wavelength_m).value,
        deepest_m=told.step("superheated column").high + (bubble_m if math.isfinite(bubble_m) else 0.0),
        bubble_m=bubble_m if math.isfinite(bubble_m) else 0.0,
    )


def _visible_index() -> float:
    """Give the index of the bath for the camera's light, as that of water in the green."""
    return liquid("water").index(550e-9)
