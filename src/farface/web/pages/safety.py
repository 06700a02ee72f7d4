"""The page of safety: estimates with their inputs, chemicals, and the sheets to print and to tick."""

from typing import Annotated

from fastapi import APIRouter, Query, Response

from farface.app.answer import Answer
from farface.app.check_sheets import write_sheets
from farface.app.chemicals import tell_chemicals
from farface.app.hazards import estimate_hazards
from farface.app.safety_look import look_at_safety, sheet_page
from farface.app.ticks import TickOrder, tick_sheet
from farface.kernel import FarfaceError
from farface.web.documents import document
from farface.web.forms import Form, Sent
from farface.web.page import UNUSABLE, go_to, render, show_page
from farface.web.visit import Here, Visit

router = APIRouter()
Eyewear = Annotated[str, Query(max_length=20, description="optical density on the eyewear's label")]


@show_page(router, "/safety", "safety.html")
def safety(here: Here, eyewear: Eyewear = "") -> Answer:
    """Look at the estimates, the chemicals and the sheets."""
    return _look(here, eyewear)


@router.post("/safety/record", status_code=303)
def record(here: Here) -> Response:
    """Keep estimates and chemicals in the journal as they are shown."""
    with here.bench() as work:
        estimate_hazards(work, here.typed)
        tell_chemicals(work)
    return go_to(here.address("/safety"))


@router.post("/safety/sheets", status_code=303)
def write(here: Here) -> Response:
    """Write the sheets with the bench's own numbers at this setting."""
    with here.bench() as work:
        write_sheets(work, here.typed)
    return go_to(here.address("/safety") + "#sheets")


@router.get("/safety/sheets/{name}", response_class=Response)
def sheet(here: Here, name: str) -> Response:
    """Show a sheet, to print."""
    with here.bench() as work:
        return document(sheet_page(work, name))


@router.post("/safety/sheets/{name}/ticks", status_code=303)
def tick(here: Here, name: str, sent: Sent) -> Response:
    """Record which boxes of a sheet are ticked, and by whom."""
    try:
        with here.bench() as work:
            tick_sheet(work, _order(name, sent))
    except FarfaceError as error:
        errors = {name: str(error)}
        return render(here, "safety.html", _look(here, ""), status=UNUSABLE, errors=errors, typed=sent.texts)
    return go_to(here.address("/safety") + "#sheets")


def _look(here: Visit, eyewear: str) -> Answer:
    with here.bench() as work:
        return look_at_safety(work, here.typed, eyewear=eyewear)


def _order(name: str, sent: Form) -> TickOrder:
    """Read a sheet's form: boxes ticked now, reasons for those not needed, and ticks that were taken back."""
    ticked = {key.removeprefix("tick-") for key in sent.texts if key.startswith("tick-")}
    stood = {key.removeprefix("stood-") for key in sent.texts if key.startswith("stood-")}
    reasons = {
        key.removeprefix("reason-"): sent.text(key)
        for key in sent.texts
        if key.startswith("reason-") and sent.text(key)
    }
    return TickOrder(
        sheet=name, initials=sent.text("initials"), items=tuple(sorted(ticked - set(reasons))),
        not_needed=tuple(f"{key}={why}" for key, why in reasons.items()),
        withdraw=tuple(sorted(stood - ticked - set(reasons))),
    )  # fmt: skip
