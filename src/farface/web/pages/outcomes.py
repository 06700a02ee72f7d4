"""The page where outcomes are typed at the bench, finding by finding; phones get only these routes."""

from typing import Annotated

from fastapi import APIRouter, Query, Response
from fastapi.responses import JSONResponse

from farface.app.answer import Answer, plain
from farface.app.journal_open import open_journal
from farface.app.outcomes_look import look_at_outcomes, record_outcomes
from farface.app.typed_outcomes import Finding, fill_from_journal, type_finding
from farface.kernel import FarfaceError
from farface.web.forms import Sent
from farface.web.page import CLASH, UNUSABLE, go_to, render, show_page
from farface.web.visit import Here

router = APIRouter()
# What a phone may do: look at the table, and type into it.
typing_router = APIRouter()

Name = Annotated[str, Query(max_length=60)]


@show_page(typing_router, "/outcomes", "outcomes.html")
def outcomes(here: Here, plate: Name = "", cell: Name = "") -> Answer:
    """Look at the outcomes of a plate as they are being typed."""
    return _look(here, plate, cell)


@typing_router.post("/outcomes/{plate}/{cell}", response_class=JSONResponse)
def type_in(here: Here, plate: str, cell: str, sent: Sent) -> JSONResponse:
    """Write one finding; 409 says that it stands otherwise than the page showed, with both values."""
    told = type_finding(
        here.place.folder,
        Finding(
            plate=plate, cell=cell, column=sent.text("column"), was=sent.text("was"), now=sent.text("now"),
            key=sent.text("key"), place="phone" if here.shared else "bench",
        ),
    )  # fmt: skip
    return JSONResponse(plain(told), status_code=CLASH if told.state == "clash" else 200)


@router.post("/outcomes/{plate}/record", status_code=303)
def record(here: Here, plate: str, sent: Sent) -> Response:
    """Take the table into the journal."""
    try:
        with here.bench() as work:
            record_outcomes(work, plate, why=sent.text("why"))
    except FarfaceError as error:
        return render(here, "outcomes.html", _look(here, plate), status=UNUSABLE, slip=str(error))
    return go_to(here.address("/outcomes", plate=plate))


@router.post("/outcomes/{plate}/fill", status_code=303)
def fill(here: Here, plate: str) -> Response:
    """Bring recorded outcomes into the rows that are still empty."""
    with open_journal(here.place.folder, here.place.journal) as opened:
        fill_from_journal(here.place.folder, opened.journal, plate)
    return go_to(here.address("/outcomes", plate=plate))


def _look(here: Here, plate: str, cell: str = "") -> Answer:
    with open_journal(here.place.folder, here.place.journal) as opened:
        return look_at_outcomes(opened, plate, cell)
