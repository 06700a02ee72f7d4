"""The page of the window: maps over any two settings, and the setting that was picked from them."""

import json

from fastapi import APIRouter, Response

from farface.app.answer import Answer
from farface.app.jobs import start_job
from farface.app.window_page import look_at_cell, look_at_window
from farface.app.window_stack import StackOrder, window_stack
from farface.web.forms import Sent
from farface.web.page import go_to, show_page
from farface.web.visit import Here

router = APIRouter()


@show_page(router, "/window", "window.html")
def window(here: Here, x: str = "energy", y: str = "pulses", slide: str = "rate") -> Answer:
    """Show what can be mapped; the maps come from /window/stack."""
    with here.bench() as work:
        return look_at_window(work, here.typed, StackOrder(x=x, y=y, slide=slide))


@show_page(router, "/window/cell", "cell.html")
def cell(here: Here) -> Answer:
    """Explain the setting in the address."""
    with here.bench() as work:
        return look_at_cell(work, here.typed)


@router.get("/window/stack", response_class=Response)
def stack(
    here: Here,
    x: str = "energy",
    y: str = "pulses",
    slide: str = "rate",
    prior: bool = False,
    fine: bool = False,
) -> Response:
    """Give the maps as float32 in the order layer, level, y, x; the header x-shape holds the four lengths."""
    order = StackOrder(x=x, y=y, slide=slide, prior=prior, fine=fine)
    with here.bench() as work:
        found = window_stack(work, here.typed, order)
    headers = {"x-shape": json.dumps(found.values.shape), "x-basis": found.basis}
    return Response(found.values.tobytes(), media_type="application/octet-stream", headers=headers)


@router.post("/window", status_code=303)
def keep(here: Here, sent: Sent) -> Response:
    """Map the window with every draw and keep it in the journal; that is a job."""
    typed = dict(here.texts)
    request = {"typed": typed, "x": sent.text("x"), "y": sent.text("y"), "prior": False}
    job = start_job(here.place.folder, "window", "Map the window", request, journal=here.place.journal)
    return go_to(here.address(f"/jobs/{job.id}"))
