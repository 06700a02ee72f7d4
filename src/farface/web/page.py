"""Turn a use case's answer into a page, and the very same answer into its JSON twin."""

import re
from collections.abc import Callable
from functools import cache, wraps
from typing import Any, Final

from fastapi import APIRouter
from fastapi.responses import HTMLResponse, JSONResponse, RedirectResponse
from jinja2 import ChoiceLoader, Environment, PackageLoader, PrefixLoader, StrictUndefined
from markupsafe import Markup, escape
from pydantic import BaseModel

from farface.app.answer import Answer, plain
from farface.app.sources import source_keys
from farface.kernel import FarfaceError, Missing
from farface.records import SEEN
from farface.report.look import SEEN_WORDS
from farface.report.outcome_marks import OPEN_MARKS, mark_way
from farface.report.page import inline, is_numeric, png_address
from farface.report.svg import without_look
from farface.web.top_row import TOP_ROW
from farface.web.visit import SETTING, Visit

# A person's slip and a clash of two versions are answered with the page itself, so that htmx shows it.
UNUSABLE: Final = 422
NOT_THERE: Final = 404
CLASH: Final = 409
SEE_OTHER: Final = 303

_KEY: Final = re.compile(r"[a-z]\w*[a-z0-9]")

Handler = Callable[..., Answer]


class Told(BaseModel):
    """Describe the JSON twin of a page; ``data`` is in SI, numbers under names that end in their unit."""

    title: str
    sentences: list[str]
    tables: list[dict[str, Any]]
    data: dict[str, Any]
    files: list[str]

    @classmethod
    def of(cls, answer: Answer) -> "Told":
        """Take over an answer."""
        return cls(
            title=answer.title, sentences=list(answer.sentences), tables=plain(answer.tables),
            data=plain(answer.data), files=plain(answer.files),
        )  # fmt: skip


def show_page(router: APIRouter, path: str, template: str) -> Callable[[Handler], Handler]:
    """Serve a handler's answer at ``path`` as a page and at ``path`` + ".json" as data.

    The handler takes the visit as ``here`` and whatever else FastAPI gives it, and only looks: a GET
    changes nothing.
    """

    def register(handler: Handler) -> Handler:
        @wraps(handler)
        def page(**given: Any) -> HTMLResponse:
            return render(given["here"], template, handler(**given))

        @wraps(handler)
        def twin(**given: Any) -> Told:
            return Told.of(handler(**given))

        name = handler.__name__
        # The twin goes first: a name in the path would take ".json" for a part of itself.
        router.add_api_route(twin_of(path), twin, response_model=Told, name=f"{name}-data")
        router.add_api_route(path, page, response_class=HTMLResponse, response_model=None, name=name)
        return handler

    return register


def twin_of(path: str) -> str:
    """Give the path of a page's JSON twin."""
    return "/bench.json" if path == "/" else f"{path}.json"


def render(here: Visit, template: str, answer: Answer, *, status: int = 200, **more: object) -> HTMLResponse:
    """Set an answer with a template; every word is escaped, pictures are ours."""
    words = {"answer": answer, "data": answer.data, "typed": {}, "errors": {}, **more}
    shown = environment().get_template(template).render(here=here, **_frame(here), **words)
    return HTMLResponse(shown, status_code=status)


def refused(here: Visit, error: FarfaceError) -> HTMLResponse | JSONResponse:
    """Show the sentence of a refusal, as a page or as JSON."""
    status = NOT_THERE if isinstance(error, Missing) else UNUSABLE
    asked = here.request.headers.get("accept", "")
    if here.request.url.path.endswith(".json") or asked.startswith("application/json"):
        return JSONResponse({"error": str(error), "kind": type(error).__name__}, status_code=status)
    answer = Answer(title="That did not work", sentences=(str(error),))
    return render(here, "refused.html", answer, status=status)


def go_to(address: str) -> RedirectResponse:
    """Send the browser on after a change, so that reloading does not repeat it."""
    return RedirectResponse(address, status_code=SEE_OTHER)


def _frame(here: Visit) -> dict[str, object]:
    """Give what base.html needs: the top row, and which of its pages this is."""
    path, served = here.request.url.path, here.request.app.state.paths
    row = [(one.words, here.address(one.path), one.holds(path)) for one in TOP_ROW if one.path in served]
    return {
        "top_row": row, "seen_words": SEEN_WORDS, "twin": here.address(twin_of(path)),
        "setting_words": SETTING,
    }  # fmt: skip


@cache
def environment() -> Environment:
    """Give the templates of the pages; "report/parts.html.j2" and its like are those of the reports."""
    made = Environment(
        loader=ChoiceLoader(
            [PackageLoader("farface.web"), PrefixLoader({"report": PackageLoader("farface.report")})]
        ),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.globals["mark_ways"] = {seen: mark_way(seen, (10.0, 10.0), 12.0) for seen in SEEN}
    made.globals["open_marks"] = OPEN_MARKS
    made.globals["seen_words"] = SEEN_WORDS
    made.filters["inline"] = drawing
    made.filters["numeric"] = is_numeric
    made.filters["png"] = png_address
    made.filters["cited"] = cited
    made.filters["capital"] = lambda words: words[:1].upper() + words[1:]
    return made


def cited(words: str) -> Markup:
    """Lead from every key of a source to its text."""
    return Markup(_KEY.sub(_link, str(escape(words))))


def _link(found: re.Match[str]) -> str:
    key = found[0]
    return f'<a href="/sources#{key}">{key}</a>' if key in source_keys() else key


def drawing(svg: str) -> Markup:
    """Let a picture of ours into a page; its look comes from a file, since pages forbid styles in line."""
    return inline(without_look(svg))
