"""The page of the rig."""

from fastapi import APIRouter

from farface.app.answer import Answer
from farface.app.rig import look_at_rig
from farface.web.page import show_page
from farface.web.visit import Here

router = APIRouter()


@show_page(router, "/rig", "rig.html")
def rig(here: Here) -> Answer:
    """Look at the rig and at what a pulse of the present setting brings to the far face."""
    with here.bench() as work:
        return look_at_rig(work.rig, here.typed)
