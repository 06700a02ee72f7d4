"""The pages of the journal: search, show, compare, undo; the report; and taking everything out."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Annotated

from fastapi import APIRouter, Query, Response
from fastapi.responses import FileResponse

from farface.app.answer import Answer
from farface.app.jobs import start_job
from farface.app.journal_look import compare_records, exported_file, look_at_record, search_journal
from farface.app.journal_open import OpenJournal, open_journal
from farface.app.journal_undo import undo
from farface.app.report import write_report
from farface.app.report_look import look_at_report, report_page
from farface.kernel import Malformed
from farface.web.documents import document
from farface.web.forms import Sent, whole_number
from farface.web.page import UNUSABLE, go_to, render, show_page
from farface.web.visit import Here, Visit

router = APIRouter()
Text = Annotated[str, Query(max_length=200)]


@show_page(router, "/journal", "journal.html")
def journal(here: Here, find: Text = "", kind: Text = "", before: Text = "") -> Answer:
    """Search the journal."""
    number = whole_number(before, what="the number to list before")
    with _opened(here) as opened:
        return search_journal(opened, find=find, kind=kind, before=number)


@show_page(router, "/journal/compare", "journal_compare.html")
def compared(here: Here, which: Annotated[list[str], Query(max_length=20)] = []) -> Answer:  # noqa: B006
    """Set two records side by side."""
    with _opened(here) as opened:
        return compare_records(opened, [text for text in which if text.strip()])


@show_page(router, "/journal/report", "journal_report.html")
def report(here: Here) -> Answer:
    """Look at the last report."""
    with here.bench() as work:
        return look_at_report(work)


@router.post("/journal/report", status_code=303)
def write(here: Here) -> Response:
    """Write the report anew."""
    with here.bench() as work:
        write_report(work)
    return go_to(here.address("/journal/report"))


@router.get("/journal/report/page", response_class=Response)
def read(here: Here) -> Response:
    """Show the report itself, to print."""
    with here.bench() as work:
        return document(report_page(work))


@router.post("/journal/export", status_code=303)
def export(here: Here) -> Response:
    """Start to pack everything into one file."""
    start_job(here.place.folder, "export", "Packing the bench into one file", {}, journal=here.place.journal)
    return go_to(here.address("/journal"))


@router.get("/journal/export.zip", response_class=FileResponse)
def exported(here: Here) -> FileResponse:
    """Give the last export to save."""
    path = exported_file(here.place.folder)
    return FileResponse(path, filename="farface-bench.zip", media_type="application/zip")


@show_page(router, "/journal/{number}", "journal_record.html")
def record(here: Here, number: str) -> Answer:
    """Show one record."""
    return _record(here, number)


@router.post("/journal/{number}/undo", status_code=303)
def take_back(here: Here, number: str, sent: Sent) -> Response:
    """Undo a record by a new one, with a reason."""
    try:
        if not sent.text("why"):
            raise Malformed("An undoing needs a reason, which stays in the journal. Say why.")
        with _opened(here) as opened:
            told = undo(opened, number, why=sent.text("why"))
    except Malformed as error:
        errors = {"why": str(error)}
        return render(here, "journal_record.html", _record(here, number), status=UNUSABLE, errors=errors)
    return go_to(here.address(f"/journal/{told.data['written']}"))


@contextmanager
def _opened(here: Visit) -> Iterator[OpenJournal]:
    with open_journal(here.place.folder, here.place.journal) as opened:
        yield opened


def _record(here: Visit, number: str) -> Answer:
    with _opened(here) as opened:
        return look_at_record(opened, number)
