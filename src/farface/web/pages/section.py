"""The section of the present setting, which stands at the top of every page."""

from fastapi import APIRouter

from farface.app.answer import Answer
from farface.kernel import FarfaceError
from farface.web.page import show_page
from farface.web.visit import Here

router = APIRouter()


@show_page(router, "/section", "section.html")
def section(here: Here) -> Answer:
    """Draw the section; a bench that cannot be drawn yet says why instead."""
    from farface.app.explain import look_at_section

    try:
        with here.bench() as work:
            return look_at_section(work, here.typed)
    except FarfaceError as error:
        return Answer(title="The section", sentences=(str(error),))
