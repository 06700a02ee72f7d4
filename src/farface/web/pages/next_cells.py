"""The page of the cells to run next, with their reasons, and the way from there to a coupon."""

from dataclasses import asdict

from fastapi import APIRouter, Response

from farface.app.answer import Answer
from farface.app.jobs import start_job
from farface.app.next_cells import NextOrder
from farface.app.next_look import accept_proposal, look_at_next
from farface.kernel import FarfaceError, OutOfRange, parse_quantity
from farface.web.forms import Form, Sent, count_of
from farface.web.page import UNUSABLE, go_to, render, show_page
from farface.web.visit import Here, Visit

router = APIRouter()
MOST_CELLS, MOST_PASSES = 60, 100_000


@show_page(router, "/next", "next.html")
def next_(here: Here) -> Answer:
    """Look at the cells that were proposed last."""
    return _look(here)


@router.post("/next", status_code=303)
def propose(here: Here, sent: Sent) -> Response:
    """Start to weigh which cells would teach most."""
    here = here.with_texts(sent.texts)
    depth = sent.read("depth", _depth)
    risk = sent.read("risk", _risk)
    cells = sent.read("cells", lambda text: count_of(text, what="cells", least=1, most=MOST_CELLS))
    passes = sent.read(
        "passes_at_most", lambda text: count_of(text, what="passes", least=1, most=MOST_PASSES)
    )
    typed = sent.read("", lambda _: here.typed)
    if depth is None or risk is None or cells is None or passes is None or typed is None:
        return render(here, "next.html", _look(here), status=UNUSABLE, errors=sent.errors, typed=sent.texts)
    order = NextOrder(depth=depth, risk=risk, cells=cells, passes_at_most=passes)
    start_job(
        here.place.folder, "next", "Weighing the next cells",
        {"typed": asdict(typed), "order": asdict(order)}, journal=here.place.journal,
    )  # fmt: skip
    return go_to(here.address("/next"))


@router.post("/next/{number}/coupon", status_code=303)
def accept(here: Here, number: str, sent: Sent) -> Response:
    """Lay out the chosen cells as a coupon."""
    name = sent.text("name")
    try:
        with here.bench() as work:
            accept_proposal(work, number, _chosen(sent), name=name)
    except FarfaceError as error:
        errors = {"name": str(error)}
        return render(here, "next.html", _look(here), status=UNUSABLE, errors=errors, typed=sent.texts)
    return go_to(here.address(f"/coupon/{name}"))


def _look(here: Visit) -> Answer:
    with here.bench() as work:
        return look_at_next(work)


def _chosen(sent: Form) -> tuple[int, ...]:
    return tuple(int(key[4:]) for key in sent.texts if key.startswith("cell") and key[4:].isdigit())


def _depth(text: str) -> str:
    if parse_quantity(text, "m", what="the wanted depth") <= 0.0:
        raise OutOfRange(f'the wanted depth is "{text}"; it must be above zero. Give such a depth.')
    return text


def _risk(text: str) -> float:
    given = text if text.endswith("%") else f"{text} %"
    share = parse_quantity(given, "1", what="the risk accepted in a cell")
    if not 0.0 <= share <= 1.0:
        raise OutOfRange(f'the risk accepted in a cell is "{text}"; it must be 0 to 100 %.')
    return share
