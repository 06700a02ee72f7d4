"""The page of the whole bench: where it stands in the loop, and what to do next."""

from fastapi import APIRouter

from farface.app.answer import Answer
from farface.app.overview import look_at_bench
from farface.web.page import show_page
from farface.web.visit import Here

router = APIRouter()


@show_page(router, "/", "bench.html")
def bench(here: Here) -> Answer:
    """Look at the bench as a whole."""
    return look_at_bench(here.place.folder, here.place.journal)
