"""Show a form again with what was typed, and the sentence beside each field that was refused."""

from fastapi.responses import HTMLResponse

from farface.app.answer import Answer
from farface.app.bench_file import Edited
from farface.web.forms import Form
from farface.web.page import CLASH, UNUSABLE, render
from farface.web.visit import Visit


def show_form_again(here: Visit, template: str, answer: Answer, sent: Form, edited: Edited) -> HTMLResponse:
    """Answer 409 where someone else changed the file meanwhile, 422 where a field was refused."""
    status = CLASH if edited.clashed else UNUSABLE
    return render(here, template, answer, status=status, typed=sent.texts, errors=edited.errors)
