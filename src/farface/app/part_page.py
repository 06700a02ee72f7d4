"""Look at drawings and plans without recording anything, and order a plan or its clearance."""

import hashlib
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any, Final

from farface.app.answer import Answer, plain
from farface.app.draws import fit_named
from farface.app.job_book import JobBook
from farface.app.jobs import job_data
from farface.app.part_depths import deepened
from farface.app.part_map import ROLE, ShownMap, shown_map
from farface.app.part_order import PartOrder
from farface.app.part_readings import read_reading
from farface.app.sheets import stage_cautions
from farface.app.ticks import open_words, standing_answers
from farface.app.uploads import UPLOADS, room_bytes
from farface.app.workbench import Workbench
from farface.files.drawing import PARSERS, read_drawing
from farface.journal import Record
from farface.kernel import Missing, show_quantity
from farface.part.shapes import Shape
from farface.report.content import Picture, Table
from farface.report.part_preview import preview_picture
from farface.safety.gate import REQUIRED_STATEMENT
from farface.safety.hazard_items import hazard_items

USUAL_RISK: Final = 0.1


def drawing_path(work: Workbench, name: str) -> Path:
    """Find a drawing of the bench by its name alone. Raises `Missing` for anything else."""
    found = {one.name: one for one in _drawings(work)}
    if name not in found:
        raise Missing(f'There is no drawing "{name[:80]}" in this bench. Choose one of its list.')
    return found[name]


def part_order(work: Workbench, request: Mapping[str, Any]) -> PartOrder:
    """Make the order of a job from its plain request."""
    return PartOrder(
        drawing=drawing_path(work, request["drawing"]), depth=request.get("depth"),
        depths=request.get("depths") or {}, risk=float(request["risk"]),
        closely=int(request.get("closely") or 0), confirmed_by=request.get("confirmed_by"),
        readings=tuple(request.get("readings") or ()),
    )  # fmt: skip


def look_at_parts(work: Workbench) -> Answer:
    """List the drawings of a bench, with the last plan of each."""
    latest = _latest(work)
    drawings: list[dict[str, Any]] = []
    for path in _drawings(work):
        record = latest.get(path.name)
        drawings.append({
            "name": path.name, "planned": None if record is None else record.number,
            "cleared": bool(record and record.body["data"].get("cleared")),
            "says": "not planned yet" if record is None else str(record.body["sentences"][0]),
        })  # fmt: skip
    first = (
        f"{len(drawings)} drawing{'' if len(drawings) == 1 else 's'}. Choose one to plan."
        if drawings
        else "No drawing yet. Add one below."
    )
    rows = tuple((str(one["name"]), str(one["says"])) for one in drawings)
    return Answer(
        title="Part",
        sentences=(first,),
        tables=(Table(caption="Drawings of this bench", header=("drawing", "plan"), rows=rows),),
        data={
            "invented": work.invented, "drawings": drawings, "endings": list(UPLOADS["drawings"].endings),
            "room_bytes": room_bytes(work.places.folder, "drawings"),
        },
    )  # fmt: skip


def look_at_part(work: Workbench, name: str) -> Answer:
    """Look at one drawing: its shapes and depths, its last plan, what stands in the way of clearing it."""
    path = drawing_path(work, name)
    record = _latest(work).get(path.name)
    asked: dict[str, Any] = {} if record is None else dict(record.body.get("request") or {})
    drawing = read_drawing(path)
    typed = {key: text for key, text in (asked.get("depths") or {}).items() if key in _names(drawing.shapes)}
    shapes = deepened(drawing, typed).shapes
    preview = preview_picture(path.stem, shapes, invented=work.invented)
    data: dict[str, Any] = {
        "invented": work.invented, "name": path.name, "repaired": list(drawing.repaired),
        "shapes": [_shape_data(shape, typed) for shape in drawing.shapes],
        "typed": _typed(asked), "job": _job(work, path.name), "plan": None, "gate": None,
    }  # fmt: skip
    if record is None:
        first = (
            f"{len(shapes)} shape{'' if len(shapes) == 1 else 's'}. Click one, or its row, to give its depth."
        )
        return Answer(
            title=f"Part {path.stem}", sentences=(first, *drawing.repaired), pictures=(preview,), data=data
        )
    told = record.body
    changed = _changed(work, record, path)
    data["plan"] = {"files": [], "close": None, "stops": [], "passes_run": 0} | told["data"] | {
        "number": record.number, "at_utc": record.at_utc, "changed": changed, "depth_map": _has_map(record),
        "readings": list(asked.get("readings") or ()),
    }  # fmt: skip
    data["calibrated"] = told["data"]["calibrated"]
    data["gate"] = _gate(work)
    return Answer(
        title=f"Part {path.stem}",
        sentences=tuple(told["sentences"]),
        tables=tuple(Table(**_table(one)) for one in told["tables"]),
        pictures=(preview, *_kept_pictures(work, record)),
        data=data,
    )


def part_map(work: Workbench, name: str) -> ShownMap:
    """Give the depth map of a drawing's last plan."""
    return shown_map(work, _planned(work, name))


def part_file(work: Workbench, name: str, file: str) -> Path:
    """Find a file that was written for a machine from a drawing's last plan, if that one was cleared."""
    record = _planned(work, name)
    told = record.body["data"]
    path = work.places.runs / Path(name).stem / file
    if file not in told.get("files", ()) or not told.get("cleared") or not path.is_file():
        raise Missing(f'There is no file "{file[:80]}" of a cleared plan. Plan and clear the part first.')
    return path


def clearing_request(work: Workbench, name: str, number: str, person: str) -> dict[str, Any]:
    """Make the request that clears the plan a person saw. Raises `Missing` where it is not up to date."""
    record = _planned(work, name)
    changed = _changed(work, record, drawing_path(work, name))
    if str(record.number) != number or changed:
        why = changed or f"record {record.number} holds a newer plan"
        raise Missing(
            f"The plan that you looked at is not up to date: {why}. Look at it again before clearing."
        )
    return {**record.body["request"], "confirmed_by": person}


def reading_request(work: Workbench, name: str, readings: Sequence[str]) -> dict[str, Any]:
    """Make the request that plans the rest of a part from readings, those taken into account before first.

    Raises `Malformed` for a text that is no reading.
    """
    for text in readings:
        read_reading(text)
    request = dict(_planned(work, name).body["request"])
    return {**request, "readings": [*(request.get("readings") or ()), *readings]}


def _drawings(work: Workbench) -> list[Path]:
    return sorted(one for one in work.places.drawings.iterdir() if one.suffix.lower() in PARSERS)


def _latest(work: Workbench) -> dict[str, Record]:
    """Give the last plan of each drawing that stands; older records do not say of which drawing they are."""
    records = work.journal.standing("part")
    return {one.body["request"]["drawing"]: one for one in records if one.body.get("request")}


def _planned(work: Workbench, name: str) -> Record:
    record = _latest(work).get(drawing_path(work, name).name)
    if record is None:
        raise Missing(f"{name} was not planned yet. Plan it first.")
    return record


def _changed(work: Workbench, record: Record, drawing: Path) -> str:
    """Say what has changed since a plan was made; an empty text where nothing has."""
    rig, bath = (hashlib.sha256(text).hexdigest() for text in work.texts)
    now = {"rig": rig, "bath": bath, "drawing": hashlib.sha256(drawing.read_bytes()).hexdigest()}
    fits = {item.record for item in record.inputs if item.role == "fit"}
    changed = [
        f"the {item.role}" for item in record.inputs if item.role in now and item.file != now[item.role]
    ]
    if fits != {item.record for item in fit_named(work)}:
        changed.append("what the plates taught")
    return f"{' and '.join(changed)} changed since" if changed else ""


def _shape_data(shape: Shape, typed: Mapping[str, str]) -> dict[str, Any]:
    return {
        "name": shape.name, "kind": shape.kind, "depth_m": shape.depth_m, "typed": typed.get(shape.name, ""),
        "drawn": "" if shape.depth_m is None else show_quantity(shape.depth_m, "m"),
    }  # fmt: skip


def _names(shapes: tuple[Shape, ...]) -> set[str]:
    return {shape.name for shape in shapes}


def _typed(asked: Mapping[str, Any]) -> dict[str, str]:
    """Give the texts of the form, as they were asked for last."""
    setting = asked.get("typed") or {}
    texts = {key: setting.get(key) for key in ("energy", "rate", "pulses", "pitch")}
    texts |= {key: asked.get(key) for key in ("depth", "closely")}
    risk = asked.get("risk")
    shown = {key: "" if value in (None, 0) else str(value) for key, value in texts.items()}
    return shown | {"risk": f"{100.0 * (USUAL_RISK if risk is None else risk):g}"}


def _gate(work: Workbench) -> dict[str, Any]:
    """Tell what stands before a clearance: cautions, hazard items with their answers, the statement."""
    standing = {one.item: one for one in standing_answers(work)}
    items = [
        {
            "key": item.key, "group": item.group, "text": item.text, "always": item.always,
            "answer": plain(standing[item.key]) if item.key in standing else None,
        }
        for item in hazard_items()
    ]  # fmt: skip
    words = open_words(work)
    return {
        "items": items, "groups": list(dict.fromkeys(item["group"] for item in items)),
        "open": sum(item["answer"] is None for item in items), "ready": words.startswith("Every"),
        "words": words, "statement": REQUIRED_STATEMENT, "cautions": plain(stage_cautions("part")),
    }  # fmt: skip


def _has_map(record: Record) -> bool:
    return any(item.role == ROLE for item in record.inputs)


def _kept_pictures(work: Workbench, record: Record) -> tuple[Picture, ...]:
    """Give the pictures of a plan as the journal keeps them."""

    def read(sha256: str | None) -> bytes | None:
        return None if sha256 is None else work.journal.content(sha256)

    pictures = []
    for one in record.body["pictures"]:
        svg, narrow = read(one["svg"]), read(one["narrow_svg"])
        pictures.append(
            Picture(
                caption=one["caption"], alt=one["alt"] or "", png=read(one["png"]),
                svg=None if svg is None else svg.decode(),
                narrow_svg=None if narrow is None else narrow.decode(),
            )
        )  # fmt: skip
    return tuple(pictures)


def _job(work: Workbench, name: str) -> dict[str, Any] | None:
    """Give the last job about a drawing, unless it is over and done with."""
    for job in JobBook(work.places.folder).last(kind="part"):
        if job.request.get("drawing") == name:
            return None if job.state == "done" else job_data(job)
    return None


def _table(told: Mapping[str, Any]) -> dict[str, Any]:
    rows = tuple(tuple(row) for row in told["rows"])
    return {"header": tuple(told["header"]), "caption": told["caption"], "rows": rows}
