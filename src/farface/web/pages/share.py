"""What the bench can do with its door for phones: draw a new code, or close it."""

from typing import TYPE_CHECKING

from fastapi import APIRouter, Response

from farface.kernel import Missing
from farface.web.page import go_to
from farface.web.visit import Here, Visit

if TYPE_CHECKING:
    from farface.web.share import Share

router = APIRouter()


@router.post("/share/code", status_code=303)
def renew(here: Here) -> Response:
    """Draw a new code."""
    _share(here).renew()
    return go_to("/")


@router.post("/share/stop", status_code=303)
def stop(here: Here) -> Response:
    """Close the door."""
    _share(here).stop()
    return go_to("/")


def _share(here: Visit) -> "Share":
    if here.share is None:
        raise Missing("Nothing is shared. Start `farface open` with --share ADDRESS to let a phone in.")
    return here.share
