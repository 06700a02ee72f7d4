"""Show rig.toml as a form, say beside each number what follows from it, and save what was typed."""

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Final

from farface.app.answer import Answer, plain
from farface.app.bath import explain_bath
from farface.app.bench_file import Edited, clash, keep_and_write, version_of
from farface.app.explain import look_at_section
from farface.app.new_bench import demo_rig, opened_or_made
from farface.app.rig import explain_rig, look_at_rig
from farface.app.rig_beside import beside_rig
from farface.app.settings import Typed, setting_of
from farface.app.typed_fields import (
    Field,
    Group,
    emptied,
    group_texts,
    known_field,
    quantity_field,
    read_typed,
)
from farface.app.workbench import Workbench, open_workbench
from farface.files.rig_file import read_rig, rig_from, rig_text
from farface.files.rig_keys import CAMERA, CELL, LASER, LENS, PLATE, PLATE_THICKNESS, SCANNER, SPOT_RADIUS
from farface.materials import glass, glass_names
from farface.records import Rig

FILE: Final = "rig.toml"


def rig_groups(rig: Rig) -> tuple[Group, ...]:
    """Lay a rig out as the fields of a form."""
    parts = (("laser", "Laser", LASER, rig.laser), ("lens", "Lens", LENS, rig.lens),
             ("scanner", "Scanner", SCANNER, rig.scanner), ("cell", "Cell", CELL, rig.cell))  # fmt: skip
    made = {
        name: Group(
            name=name, heading=heading,
            fields=tuple(quantity_field(name, entry, getattr(record, entry.field)) for entry in entries),
        )
        for name, heading, entries, record in parts
    }  # fmt: skip
    return (
        Group(name="rig", heading="Rig", fields=(
            Field(name="rig-name", label="name", text=rig.name),
            Field(name="rig-invented", label="this rig is invented", text="", ticked=rig.invented),
        )),
        made["laser"], made["lens"], _spot_group(rig), _plate_group(rig), made["scanner"], made["cell"],
        _camera_group(rig),
    )  # fmt: skip


def read_typed_rig(texts: Mapping[str, str], old: Rig) -> tuple[Rig | None, dict[str, str]]:
    """Read a rig as typed, and give a sentence for each field that is refused."""
    return read_typed(texts, rig_groups(old), lambda tables: rig_from(tables, file=FILE), file=FILE)


def save_rig(
    folder: Path, texts: Mapping[str, str], typed: Typed, *, version: str, journal: str | None
) -> Edited:
    """Write rig.toml as typed and record the rig, unless a field is refused or the file changed meanwhile."""
    places = opened_or_made(folder)
    old = read_rig(places.rig) if places.rig.is_file() else demo_rig()
    found = clash(places.rig, version, texts, group_texts(rig_groups(old)))
    if found is not None:
        return found
    rig, errors = read_typed_rig(texts, old)
    if rig is None or errors:
        return Edited(errors=errors)
    keep_and_write(places, places.rig, rig_text(rig), journal=journal)
    if places.bath.is_file():
        with open_workbench(folder, journal=journal) as work:
            explain_rig(work, typed)
            if work.journal.latest("bath") is None:
                explain_bath(work)
    return Edited(errors={})


def _spot_group(rig: Rig) -> Group:
    return Group(
        name="spot", heading="Spot, if measured", optional=True,
        fields=(known_field("spot", SPOT_RADIUS, rig.spot_radius_m),),
    )  # fmt: skip


def _plate_group(rig: Rig) -> Group:
    names = tuple((name, glass(name).title) for name in glass_names())
    return Group(name="plate", heading="Plate", fields=(
        Field(name="plate-glass", label="glass", text=rig.plate.glass, choices=names),
        known_field("plate", PLATE_THICKNESS, rig.plate.thickness_m),
        *(quantity_field("plate", entry, getattr(rig.plate, entry.field)) for entry in PLATE),
    ))  # fmt: skip


def _camera_group(rig: Rig) -> Group:
    camera = rig.camera
    counts = {"width": camera.width_px, "height": camera.height_px} if camera else {"width": "", "height": ""}
    return Group(name="camera", heading="Camera, if there is one", optional=True, fields=(
        *(quantity_field("camera", e, None if camera is None else getattr(camera, e.field)) for e in CAMERA),
        *(Field(name=f"camera-{key}", label=key, text=str(count), unit="pixels", whole=True)
          for key, count in counts.items()),
    ))  # fmt: skip


def look_at_new_rig() -> Answer:
    """Show the empty form of a rig, with the demo's numbers as examples that are not taken."""
    form = {"version": "", "groups": plain(emptied(rig_groups(demo_rig()))), "beside": {}}
    return Answer(
        title="Your rig",
        sentences=("Describe what does not change from run to run. Grey figures are examples only.",),
        data={"form": form, "new": True},
    )


def look_at_rig_form(work: Workbench, typed: Typed) -> Answer:
    """Show the rig as a form with what follows from each number; nothing is recorded."""
    answer = look_at_rig(work.rig, typed)
    form = {
        "version": version_of(work.places.rig),
        "groups": plain(rig_groups(work.rig)),
        "beside": beside_rig(work.rig, work.bath, setting_of(work.rig, typed)),
    }
    return replace(answer, data={**answer.data, "form": form, "invented": work.rig.invented})


def try_rig(work: Workbench, typed: Typed, texts: Mapping[str, str]) -> Answer:
    """Say what would follow from a rig as typed, and draw its section; nothing is recorded or written."""
    rig, errors = read_typed_rig(texts, work.rig)
    names = [field.name for group in rig_groups(work.rig) for field in group.fields]
    if rig is None:
        return Answer(title="Rig as typed", data={"errors": errors, "beside": {}, "names": names})
    tried = replace(work, rig=rig)
    beside = beside_rig(rig, work.bath, setting_of(rig, typed))
    answer = look_at_section(tried, typed)
    return replace(answer, data={**answer.data, "errors": errors, "beside": beside, "names": names})
