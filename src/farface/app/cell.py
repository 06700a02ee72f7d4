"""Lay out the cell for the rig's plate: levels, fill, clearances, camera, and panels to cut."""

from typing import Final

from farface.app.answer import Answer, plain
from farface.app.bench_cell import BenchCell, CellTyped, bench_cell
from farface.app.hazards import show_wavelength
from farface.app.titles import titled
from farface.app.workbench import Workbench
from farface.files.atomic import write_atomically
from farface.files.panels_sheet import panels_dxf, panels_svg
from farface.kernel import parse_quantity, show_quantity
from farface.prepare.cell import FLOOR_SHARE_MOST, CellPlan
from farface.prepare.fill import filling_advice
from farface.prepare.panels import cell_panels
from farface.records import Rig
from farface.report.cell_view import CellView, cell_caption, cell_svg
from farface.report.content import Picture, Table

# A sheet this thin bends under its own film of bath: common practice, no source.
SAGS_M: Final = 0.3e-3
_WHAT = ("what", "value", "from")
_KEPT = ("distance", "there is", "needed", "so")


def draw_cell(work: Workbench, typed: CellTyped) -> Answer:
    """Lay the cell out, say what to fill in, check its clearances, and write drawing and panels."""
    cell = bench_cell(work, typed)
    kerf_m = parse_quantity(typed.kerf, "m", what="the kerf")
    panels = cell_panels(cell.plan, kerf_m=kerf_m)
    view = _view(work, cell)
    folder = work.places.drawings
    files = (folder / "cell.svg", folder / "cell-panels.svg", folder / "cell-panels.dxf")
    note = _note(work, cell.plan, kerf_m)
    picture = cell_svg(view)
    write_atomically(files[0], picture.encode())
    write_atomically(files[1], panels_svg(panels, note=note).encode())
    write_atomically(files[2], panels_dxf(panels, note=note))
    answer = Answer(
        title=titled(work, f"Cell for {work.rig.name}"),
        sentences=(
            *_sentences(cell, work.bath.volume_m3),
            *filling_advice(cell.filled),
            *_building_advice(work.rig),
        ),
        tables=(
            Table(caption="Seat, level and fill", header=_LEVELS, rows=_levels(cell)),
            Table(caption="Clearances", header=_KEPT, rows=_clearances(cell.plan)),
            Table(caption="Looking in", header=_WHAT, rows=_camera_rows(work.rig, cell)),
        ),
        pictures=(Picture(caption=cell_caption(view), svg=picture),),
        data={
            "seat_m": cell.plan.seat_m, "fill": plain(cell.filled), "order": plain(cell.plan.order),
            "clearances": plain(cell.plan.clearances), "floor_share": cell.plan.floor_share,
            "camera_stand_m": cell.camera_m, "kerf_m": kerf_m,
            "others": [
                {"thickness_m": plan.order.thickness_m, "seat_m": plan.seat_m, "fill": plain(filled)}
                for plan, filled in cell.others
            ],
        },
        files=files,
    )  # fmt: skip
    kept = tuple(work.keep(path, kind="drawing") for path in files[1:])
    work.publish("cell", answer, inputs=(*cell.inputs, *kept), request={"typed": plain(typed)})
    return answer


def _view(work: Workbench, cell: BenchCell) -> CellView:
    return CellView(
        title=f"{work.rig.name}: the cell",
        invented=work.invented,
        plan=cell.plan,
        others=tuple(plan for plan, _ in cell.others),
        camera_m=cell.camera_m,
    )


def _note(work: Workbench, plan: CellPlan, kerf_m: float) -> str:
    invented = "Invented data. " if work.invented else ""
    return (
        f"{invented}{work.rig.name}: cell of clear cast acrylic, "
        f"{show_quantity(plan.order.sheet_m, 'm')}, cut {show_quantity(kerf_m, 'm')} wide; plate "
        f"{show_quantity(plan.order.thickness_m, 'm')}, seat {show_quantity(plan.seat_m, 'm', digits=4)}. "
        "Millimetres."
    )


def _sentences(cell: BenchCell, mixed_m3: float) -> tuple[str, ...]:
    close = [one.name for one in cell.plan.clearances if not one.kept]
    said = [
        f"Fill in {cell.filled.volume_m3 * 1e6:.1f} mL: the bath then just wets the far face, "
        f"{show_quantity(cell.filled.level_m, 'm', digits=4)} above the floor.",
    ]
    if cell.filled.volume_m3 > mixed_m3:
        said.append(f"bath.toml has only {mixed_m3 * 1e6:.0f} mL: mix more, or build a smaller cell.")
    if min(plan.order.thickness_m for plan in (cell.plan, *(plan for plan, _ in cell.others))) < SAGS_M:
        said.append(
            f"A plate thinner than {show_quantity(SAGS_M, 'm')} sags between the rails and follows the "
            "level: take a small one, and find the focus in the middle of the field (common practice)."
        )
    if close:
        said.append(f"Too close: {'; '.join(close)}. Build a wider or deeper cell, or work a smaller field.")
    if cell.plan.floor_share > FLOOR_SHARE_MOST:
        said.append(
            f"{100 * cell.plan.floor_share:.2g} % of the light reaches the floor, which it would work: "
            "put a beam stop into the bath, or take a deeper cell."
        )
    return tuple(said)


def _building_advice(rig: Rig) -> tuple[str, ...]:
    """Say how to build and light the cell; common practice, no source."""
    return (
        "Cut the sheet where its makers allow, never PVC; glue the joints with acrylic cement, let them "
        "cure for a day, fill with water over a dry cloth and wait an hour before any bath goes in. Fit "
        "a tap to the drain hole.",
        "Light from behind through a diffuser, blue or green: the bath swallows red. Put a filter that "
        f"stops {show_wavelength(rig.laser.wavelength_m)} before the camera's lens.",
        "The splash cover lies loose on the rim. It keeps spray in, it is no beam enclosure, and it does "
        "not make the eye safe.",
    )


_LEVELS = ("plate", "seat and level above the floor", "fill", "level may fall", "level may rise")


def _levels(cell: BenchCell) -> tuple[tuple[str, ...], ...]:
    return tuple(
        (
            show_quantity(plan.order.thickness_m, "m"),
            show_quantity(plan.seat_m, "m", digits=4),
            f"{filled.volume_m3 * 1e6:.1f} mL",
            show_quantity(filled.may_fall_m, "m", digits=2),
            show_quantity(filled.may_rise_m, "m"),
        )
        for plan, filled in ((cell.plan, cell.filled), *cell.others)
    )


def _clearances(plan: CellPlan) -> tuple[tuple[str, ...], ...]:
    rows = []
    for one in plan.clearances:
        there, needed = (show_quantity(length, "m") for length in (one.there_m, one.needed_m))
        rows.append((one.name, there, needed, "kept" if one.kept else "too close"))
    dark = plan.floor_share <= FLOOR_SHARE_MOST
    there, needed = f"{100 * plan.floor_share:.2g} %", f"{100 * FLOOR_SHARE_MOST:g} % at most"
    rows.append(("light left at the floor", there, needed, "kept" if dark else "too much"))
    return tuple(rows)


def _camera_rows(rig: Rig, cell: BenchCell) -> tuple[tuple[str, str, str], ...]:
    plan = cell.plan
    rows = [
        ("from wall to the plate's middle", show_quantity(0.5 * plan.order.length_m, "m"), "in the bath"),
        (
            "cover's top above the front "
            "face", show_quantity(plan.cover_above_front_m, "m"), "free room for the lens"),
        ("opening in the cover", show_quantity(plan.opening_width_m, "m"), "field, cone and 3 mm around"),
    ]  # fmt: skip
    if rig.camera is not None:
        wide_m = rig.camera.width_px * rig.camera.pixel_m
        tall_m = rig.camera.height_px * rig.camera.pixel_m
        rows.append(
            ("camera's field", f"{show_quantity(wide_m, 'm')} x {show_quantity(tall_m, 'm')}", "rig.toml")
        )
    if cell.camera_m is not None:
        rows.append(
            (
                "camera's lens before the wall",
                show_quantity(cell.camera_m, "m"),
                "working distance less s/n of wall and bath",
            )
        )
    return tuple(rows)
