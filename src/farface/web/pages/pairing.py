"""The page where a phone gives the code that is shown at the bench; served at the second door only."""

from fastapi import APIRouter, Response

from farface.app.answer import Answer
from farface.web.forms import Sent
from farface.web.page import UNUSABLE, go_to, render
from farface.web.visit import Here

router = APIRouter()
_TITLE = "Outcomes on this phone"


@router.get("/", response_class=Response)
def first(here: Here) -> Response:
    """Ask for the code, or go on where the phone is paired."""
    share = here.request.app.state.share
    if share.knows(here.request.headers):
        return go_to("/outcomes")
    return render(here, "pairing.html", Answer(title=_TITLE), closed=share.closed)


@router.post("/pair", status_code=303)
def pair(here: Here, sent: Sent) -> Response:
    """Try the code."""
    share = here.request.app.state.share
    if share.pair("".join(sent.text("code").split())):
        answer = go_to("/outcomes")
        answer.set_cookie(share.cookie, share.token, httponly=True, samesite="strict")
        return answer
    errors = {"code": "This is not the code that is shown at the bench. Look again."}
    return render(
        here, "pairing.html", Answer(title=_TITLE), status=UNUSABLE, closed=share.closed, errors=errors
    )
