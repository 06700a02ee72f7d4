"""Look at the safety of a bench: estimates of the beam, chemicals, the sheets and what stands ticked."""

from pathlib import Path

from farface.app.answer import Answer, Json, plain
from farface.app.chemicals import look_at_chemicals
from farface.app.hazards import look_at_hazards
from farface.app.settings import Typed, show_setting
from farface.app.sheets import stage_cautions
from farface.app.ticks import open_words, sheet_name, standing_answers
from farface.app.workbench import Workbench
from farface.kernel import Malformed, Missing, OutOfRange, Refused, parse_quantity
from farface.records import Setting
from farface.report.content import Picture
from farface.report.hazard_ways import Way, ways_caption, ways_svg
from farface.safety.exposure import NOT_A_CLEARANCE
from farface.safety.hazard_items import SHEETS, SheetName, items_of


def look_at_safety(work: Workbench, typed: Typed, *, eyewear: str = "") -> Answer:
    """Gather the estimates at a setting with their inputs, the chemicals, and the sheets; record nothing.

    ``eyewear`` is the optical density on a pair's label; what speaks against it stands in ``data["short"]``.
    """
    beam, short = _beam(work, typed, eyewear)
    chemicals = look_at_chemicals(work)
    standing = {one.item: one for one in standing_answers(work)}
    data: dict[str, Json] = {
        **beam.data, "beam_tables": len(beam.tables), "cautions": plain(stage_cautions("part")),
        "eyewear": eyewear, "short": short, "chemicals": chemicals.data["chemicals"],
        "invented": work.invented, "open": open_words(work),
        "sheets": [_sheet(work, name, standing) for name in SHEETS],
    }  # fmt: skip
    return Answer(
        title="Safety", sentences=beam.sentences, tables=(*beam.tables, *chemicals.tables),
        pictures=(_ways(work, beam),), data=data,
    )  # fmt: skip


def sheet_page(work: Workbench, name: str) -> bytes:
    """Read a sheet as it was last written; `Missing` when there is none."""
    path = _sheet_path(work, sheet_name(name))
    if not path.is_file():
        raise Missing(f"The {name} sheet was not written yet. Write the sheets first.")
    return path.read_bytes()


def _beam(work: Workbench, typed: Typed, eyewear: str) -> tuple[Answer, str]:
    """Estimate the beam; eyewear that falls short is told, for looking fires nothing."""
    try:
        density = parse_quantity(eyewear, "1", what="the optical density") if eyewear.strip() else None
        return look_at_hazards(work, typed, eyewear_optical_density=density), ""
    except (Malformed, OutOfRange, Refused) as error:
        return look_at_hazards(work, typed), str(error)


def _ways(work: Workbench, beam: Answer) -> Picture:
    ways = tuple(
        Way(name=way["name"], distance_m=way["distance_m"]) for way in beam.data["estimates"]["ways"]
    )
    at = show_setting(Setting(**beam.data["setting"]))
    title = f"How far the beam is a hazard to eyes at {at} ({NOT_A_CLEARANCE})"
    return Picture(
        caption=ways_caption(ways),
        svg=ways_svg(ways, title=title, invented=work.invented),
        narrow_svg=ways_svg(ways, title=title, invented=work.invented, narrow=True),
    )


def _sheet(work: Workbench, name: SheetName, standing: dict[str, Json]) -> dict[str, Json]:
    items = [
        {
            "key": item.key, "group": item.group, "text": item.text, "hazard": item.hazard,
            "may_skip": item.hazard and not item.always,
            "standing": plain(standing[item.key]) if item.key in standing else None,
        }
        for item in items_of(name)
    ]  # fmt: skip
    return {"name": name, "ready": _sheet_path(work, name).is_file(), "items": items}


def _sheet_path(work: Workbench, name: SheetName) -> Path:
    return work.places.reports / f"{name}-sheet.html"
