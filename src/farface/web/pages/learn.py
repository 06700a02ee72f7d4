"""The page of what the plates taught, and the job that lets them teach."""

from fastapi import APIRouter, Response

from farface.app.answer import Answer
from farface.app.jobs import start_job
from farface.app.learn_look import look_at_learned, look_at_plate
from farface.web.page import go_to, show_page
from farface.web.visit import Here

router = APIRouter()


@show_page(router, "/learn", "learn.html")
def learn(here: Here) -> Answer:
    """Look at what the plates taught."""
    with here.bench() as work:
        return look_at_learned(work)


@router.post("/learn", status_code=303)
def teach(here: Here) -> Response:
    """Start to fit the unknowns to everything in the journal."""
    start_job(
        here.place.folder, "learn", "Learning from plates and films", {"steps": None},
        journal=here.place.journal,
    )  # fmt: skip
    return go_to(here.address("/learn"))


@show_page(router, "/learn/plates/{name}", "learn_plate.html")
def plate(here: Here, name: str) -> Answer:
    """Look at what the fit expects of one plate beside what was seen."""
    with here.bench() as work:
        return look_at_plate(work, name)
