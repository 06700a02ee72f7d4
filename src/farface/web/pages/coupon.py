"""The page of coupons: what to vary, how it would lie on the plate, and the bench sheet to print."""

from typing import Annotated

from fastapi import APIRouter, Query, Response
from pydantic import BaseModel

from farface.app.answer import Answer
from farface.app.coupon import lay_out_coupon
from farface.app.coupon_look import coupon_file, look_at_coupon, look_at_laid_coupon
from farface.app.coupon_order import LEVELS, CouponOrder
from farface.kernel import FarfaceError, Malformed
from farface.web.documents import document, download
from farface.web.forms import Form, Sent, count_of
from farface.web.page import UNUSABLE, go_to, render, show_page
from farface.web.visit import Here

router = APIRouter()
MOST_LEVELS, MOST_REPEATS = 20, 20


class Wanted(BaseModel):
    """Hold what a coupon should vary, as the form sends it."""

    name: str = ""
    x: str = "energy"
    x_low: str = ""
    x_high: str = ""
    y: str = "pulses"
    y_low: str = ""
    y_high: str = ""
    levels: str = str(LEVELS)
    repeats: str = "1"

    def order(self) -> CouponOrder:
        """Read the order; raises `Malformed` for counts and spans that are none."""
        return CouponOrder(
            name=self.name.strip() or "P1",
            x=_span(self.x, self.x_low, self.x_high), y=_span(self.y, self.y_low, self.y_high),
            levels=count_of(self.levels, what="levels", least=2, most=MOST_LEVELS),
            repeats=count_of(self.repeats, what="repeats", least=1, most=MOST_REPEATS),
        )  # fmt: skip


@show_page(router, "/coupon", "coupon.html")
def coupon(here: Here, wanted: Annotated[Wanted, Query()]) -> Answer:
    """Look at the coupon that the form describes."""
    return _preview(here, wanted)


@router.post("/coupon", status_code=303)
def lay_out(here: Here, sent: Sent) -> Response:
    """Lay the coupon out: drawing, bench sheet, table."""
    wanted = _wanted(sent)
    here = here.with_texts(sent.texts)
    try:
        order = wanted.order()
        if not wanted.name.strip():
            raise Malformed('The plate has no name. Give it one that can be engraved, such as "P1".')
        with here.bench() as work:
            lay_out_coupon(work, here.typed, order)
    except FarfaceError as error:
        return render(here, "coupon.html", _preview(here, wanted), status=UNUSABLE, slip=str(error))
    return go_to(here.address(f"/coupon/{order.name}"))


@show_page(router, "/coupon/{name}", "coupon_laid.html")
def laid(here: Here, name: str) -> Answer:
    """Look at a coupon that was laid out."""
    with here.bench() as work:
        return look_at_laid_coupon(work, name)


@router.get("/coupon/{name}/sheet", response_class=Response)
def sheet(here: Here, name: str) -> Response:
    """Show the bench sheet, to print."""
    with here.bench() as work:
        return document(coupon_file(work, name, "sheet"))


@router.get("/coupon/{name}/drawing.svg", response_class=Response)
def drawing(here: Here, name: str) -> Response:
    """Give the drawing to scale."""
    with here.bench() as work:
        return download(coupon_file(work, name, "drawing"), name="coupon.svg", media_type="image/svg+xml")


@router.get("/coupon/{name}/table.csv", response_class=Response)
def table(here: Here, name: str) -> Response:
    """Give the table of outcomes as it stands."""
    with here.bench() as work:
        return download(coupon_file(work, name, "table"), name="outcomes.csv", media_type="text/csv")


def _preview(here: Here, wanted: Wanted) -> Answer:
    """Show the coupon wanted; what cannot be read stays in the form beside its sentence."""
    refused = ""
    try:
        typed, order = here.typed, wanted.order()
    except FarfaceError as error:
        refused = str(error)
        here, order = here.with_texts({}), CouponOrder(name="P1")
        typed = here.typed
    with here.bench() as work:
        told = look_at_coupon(work, typed, order)
    data = {**told.data, "wanted": wanted.model_dump()}
    if refused:
        return Answer(title=told.title, data=data | {"coupon": None, "refused": refused})
    return Answer(
        title=told.title, sentences=told.sentences, tables=told.tables, pictures=told.pictures, data=data
    )


def _wanted(sent: Form) -> Wanted:
    return Wanted(**{name: sent.text(name) for name in Wanted.model_fields if sent.text(name)})


def _span(knob: str, low: str, high: str) -> str:
    """Write an axis as the use case reads it."""
    if not low.strip() and not high.strip():
        return knob
    if not low.strip() or not high.strip():
        raise Malformed(f"the span of {knob} has one end only. Give both, or neither for the usual span.")
    return f"{knob}={low.strip()}..{high.strip()}"
