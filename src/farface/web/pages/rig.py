"""The page of the rig: a form with what follows from each number, and the section that follows it."""

from fastapi import APIRouter, Response

from farface.app.answer import Answer
from farface.app.rig_form import look_at_new_rig, look_at_rig_form, save_rig, try_rig
from farface.web.form_page import show_form_again
from farface.web.forms import Sent
from farface.web.page import go_to, show_page
from farface.web.visit import Here, Visit

router = APIRouter()


@show_page(router, "/rig", "rig.html")
def rig(here: Here, saved: str = "") -> Answer:
    """Look at the rig and at what a pulse of the present setting brings to the far face."""
    return _shown(here)


@show_page(router, "/rig/try", "try.html")
def try_typed(here: Here) -> Answer:
    """Say what would follow from the rig as it is being typed."""
    with here.bench() as work:
        return try_rig(work, here.typed, here.request.query_params)


@router.post("/rig", status_code=303)
def save(here: Here, sent: Sent) -> Response:
    """Write rig.toml as typed, and record the rig."""
    place = here.place
    edited = save_rig(
        place.folder, sent.texts, here.typed, version=sent.text("version"), journal=place.journal
    )
    if edited.errors:
        return show_form_again(here, "rig.html", _shown(here), sent, edited)
    following = "/rig" if place.has("bath.toml") else "/bath"
    return go_to(here.address(following, saved="yes"))


def _shown(here: Visit) -> Answer:
    if not here.place.has("rig.toml"):
        return look_at_new_rig()
    with here.bench() as work:
        return look_at_rig_form(work, here.typed)
