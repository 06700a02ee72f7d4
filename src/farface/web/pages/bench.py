"""The page of the whole bench: where it stands in the loop, and what to do next."""

from fastapi import APIRouter, Response

from farface.app.answer import Answer
from farface.app.new_bench import begin_with_demo
from farface.app.overview import look_at_bench
from farface.web.page import go_to, show_page
from farface.web.visit import Here

router = APIRouter()


@show_page(router, "/", "bench.html")
def bench(here: Here) -> Answer:
    """Look at the bench as a whole, or say how one can begin."""
    return look_at_bench(here.place.folder, here.place.journal)


@router.post("/new", status_code=303)
def begin(here: Here) -> Response:
    """Begin a bench with the invented demo."""
    begin_with_demo(here.place.folder)
    return go_to("/")
