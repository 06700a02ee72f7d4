"""The page of the bath: a form with what follows from each number, and the section that follows it."""

from fastapi import APIRouter, Response

from farface.app.answer import Answer
from farface.app.bath_form import look_at_bath_form, look_at_new_bath, save_bath, try_bath
from farface.web.form_page import show_form_again
from farface.web.forms import Sent
from farface.web.page import go_to, show_page
from farface.web.visit import Here, Visit

router = APIRouter()


@show_page(router, "/bath", "bath.html")
def bath(here: Here, saved: str = "") -> Answer:
    """Look at the bath, and at what a pulse of the present setting does to it."""
    return _shown(here)


@show_page(router, "/bath/try", "try.html")
def try_typed(here: Here) -> Answer:
    """Say what would follow from the bath as it is being typed."""
    with here.bench() as work:
        return try_bath(work, here.typed, here.request.query_params)


@router.post("/bath", status_code=303)
def save(here: Here, sent: Sent) -> Response:
    """Write bath.toml as typed, and record the bath."""
    place = here.place
    edited = save_bath(place.folder, sent.texts, version=sent.text("version"), journal=place.journal)
    if edited.errors:
        return show_form_again(here, "bath.html", _shown(here), sent, edited)
    following = "/bath" if place.has("rig.toml") else "/rig"
    return go_to(here.address(following, saved="yes"))


def _shown(here: Visit) -> Answer:
    if not here.place.has("bath.toml"):
        return look_at_new_bath()
    with here.bench() as work:
        return look_at_bath_form(work, here.typed)
