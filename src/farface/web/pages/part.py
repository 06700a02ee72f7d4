"""The pages of parts: the list of drawings, and one drawing with its plan, its gate and its files."""

from functools import partial
from typing import Any, Final

from fastapi import APIRouter, Response
from fastapi.responses import FileResponse

from farface.app.answer import Answer, plain
from farface.app.jobs import start_job
from farface.app.part_depths import depth_m
from farface.app.part_page import (
    clearing_request,
    drawing_path,
    look_at_part,
    look_at_parts,
    part_file,
    part_map,
    reading_request,
)
from farface.app.settings import Typed, setting_of
from farface.app.ticks import TickOrder, tick_sheet
from farface.app.workbench import Workbench
from farface.kernel import FarfaceError, Malformed
from farface.web.forms import Form, Sent, whole_number
from farface.web.page import CLASH, UNUSABLE, go_to, render, show_page
from farface.web.visit import Here

router = APIRouter()

# Firing a corner pulse by pulse under more draws than this tells nothing more.
MOST_CLOSELY: Final = 64


@show_page(router, "/part", "part.html")
def parts(here: Here) -> Answer:
    """List the drawings."""
    with here.bench() as work:
        return look_at_parts(work)


@show_page(router, "/part/{drawing}", "part_plan.html")
def part(here: Here, drawing: str) -> Answer:
    """Look at one drawing and at its last plan."""
    with here.bench() as work:
        return look_at_part(work, drawing)


@router.get("/part/{drawing}/map", response_class=Response)
def depth_map(here: Here, drawing: str) -> Response:
    """Give the depth map, float32 in metres, rows from the lowest y up; shape and cell in headers."""
    with here.bench() as work:
        shown = part_map(work, drawing)
    told = {"x-shape": ",".join(map(str, shown.depth_m.shape)), "x-cell-m": f"{shown.cell_m:.9g}"}
    return Response(
        shown.depth_m.astype("<f4").tobytes(), media_type="application/octet-stream", headers=told
    )


@router.get("/part/{drawing}/files/{name}", response_class=FileResponse)
def machine_file(here: Here, drawing: str, name: str) -> FileResponse:
    """Give a file that was written for a machine from a cleared plan, to save."""
    with here.bench() as work:
        path = part_file(work, drawing, name)
    return FileResponse(path, filename=name, media_type="application/octet-stream")


@router.post("/part/{drawing}/plan", status_code=303)
def plan(here: Here, drawing: str, sent: Sent) -> Response:
    """Start planning a drawing."""
    with here.bench() as work:
        name = drawing_path(work, drawing).name
        request = _request(work, sent, name)
        if not sent.good:
            return _again(here, work, name, sent)
    start_job(here.place.folder, "part", f"Planning {name}", request, journal=here.place.journal)
    return go_to(here.address(f"/part/{name}"))


@router.post("/part/{drawing}/readings", status_code=303)
def read(here: Here, drawing: str, sent: Sent) -> Response:
    """Start planning the rest of a part from depths that were read at its stops."""
    with here.bench() as work:
        name = drawing_path(work, drawing).name
        stops = (look_at_part(work, name).data["plan"] or {}).get("stops", [])
        typed = {k: sent.text(f"read-{k}") for k in range(len(stops)) if sent.text(f"read-{k}")}
        if not typed:
            sent.errors["readings"] = "No depth was typed. Read the floor at a stop, and type its mean there."
        texts = [f"{stops[k]['shape']} after {stops[k]['passes']}: {text}" for k, text in typed.items()]
        request = sent.read("readings", lambda _: reading_request(work, name, texts)) if sent.good else None
        if request is None:
            return _again(here, work, name, sent)
    start_job(here.place.folder, "part", f"Planning the rest of {name}", request, journal=here.place.journal)
    return go_to(here.address(f"/part/{name}"))


@router.post("/part/{drawing}/ticks", status_code=303)
def tick(here: Here, drawing: str, sent: Sent) -> Response:
    """Record answers to the hazard items, with the initials of who gave them."""
    with here.bench() as work:
        name = drawing_path(work, drawing).name
        done = tuple(key[5:] for key, text in sent.texts.items() if key.startswith("done-") and text)
        reasons = {key[4:]: sent.text(key) for key in sent.texts if key.startswith("not-") and sent.text(key)}
        order = TickOrder(
            sheet="set-up", initials=sent.text("initials"),
            items=tuple(one for one in done if one not in reasons),
            not_needed=tuple(f"{key}={reason}" for key, reason in reasons.items()),
        )  # fmt: skip
        try:
            tick_sheet(work, order)
        except FarfaceError as error:
            sent.errors["initials"] = str(error)
            return _again(here, work, name, sent)
    return go_to(here.address(f"/part/{name}") + "#gate")


@router.post("/part/{drawing}/clear", status_code=303)
def clear(here: Here, drawing: str, sent: Sent) -> Response:
    """Start clearing the plan that a person looked at, in that person's name."""
    with here.bench() as work:
        name = drawing_path(work, drawing).name
        if not sent.text("person"):
            sent.errors["person"] = "No name is given. Give that of the person who read the cautions."
        if sent.text("stated") != "yes":
            sent.errors["stated"] = (
                "The statement is not confirmed. Read it, and tick it if every word is true."
            )
        if not sent.good:
            return _again(here, work, name, sent)
        try:
            request = clearing_request(work, name, sent.text("record"), sent.text("person"))
        except FarfaceError as error:
            sent.errors["clear"] = str(error)
            return _again(here, work, name, sent, status=CLASH)
    start_job(here.place.folder, "part", f"Clearing {name}", request, journal=here.place.journal)
    return go_to(here.address(f"/part/{name}"))


def _again(here: Here, work: Workbench, name: str, sent: Form, *, status: int = UNUSABLE) -> Response:
    """Show the page with what was typed and what is wrong with it."""
    answer = look_at_part(work, name)
    answer.data["typed"].update({key: sent.text(key) for key in answer.data["typed"] if key in sent.texts})
    for number, shape in enumerate(answer.data["shapes"], start=1):
        if f"depth-{number}" in sent.texts:
            shape["typed"] = sent.text(f"depth-{number}")
    return render(here, "part_plan.html", answer, status=status, errors=sent.errors, sent=sent.texts)


def _request(work: Workbench, sent: Form, name: str) -> dict[str, Any]:
    """Read the form into what the job takes; every refusal stands beside its field."""
    shapes = look_at_part(work, name).data["shapes"]
    depths = {}
    for number, shape in enumerate(shapes, start=1):
        if text := sent.text(f"depth-{number}"):
            depths[shape["name"]] = text
            sent.read(f"depth-{number}", partial(depth_m, name=shape["name"]))
    if sent.text("depth"):
        sent.read("depth", partial(depth_m, name="all other shapes"))
    risk = sent.read("risk", _risk)
    closely = sent.read("closely", _closely)
    typed = Typed(
        energy=sent.text("energy") or None, rate=sent.text("rate") or None,
        pulses=sent.read("pulses", partial(whole_number, what="pulses per point")),
        pitch=sent.text("pitch") or None,
    )  # fmt: skip
    if sent.good:
        try:
            setting_of(work.rig, typed)
        except FarfaceError as error:
            sent.errors["energy"] = str(error)
    return {
        "drawing": name, "typed": plain(typed), "depth": sent.text("depth") or None, "depths": depths,
        "risk": risk, "closely": closely,
    }  # fmt: skip


def _risk(text: str) -> float:
    try:
        share = float(text.removesuffix("%")) / 100.0
    except ValueError:
        share = -1.0
    if not 0.0 <= share <= 1.0:
        raise Malformed(f'the accepted risk is "{text}", which is no share. Write 0 to 100, in per cent.')
    return share


def _closely(text: str) -> int:
    count = whole_number(text, what="the number of draws") or 0
    if not 0 <= count <= MOST_CLOSELY:
        raise Malformed(f"the number of draws is {count}; 0 to {MOST_CLOSELY} are taken. Give one of these.")
    return count
