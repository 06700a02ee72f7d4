"""The page of sources, to which every key in brackets leads."""

from fastapi import APIRouter

from farface.app.answer import Answer
from farface.app.sources import look_at_sources
from farface.web.page import show_page
from farface.web.visit import Here

router = APIRouter()


@show_page(router, "/sources", "sources.html")
def sources(here: Here) -> Answer:
    """List the sources."""
    return look_at_sources()
