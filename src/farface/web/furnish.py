"""Give an app what all of ours have: its bench, the static files, the look, and the words of a refusal."""

from collections.abc import Iterable
from importlib.resources import files

from fastapi import APIRouter, FastAPI, Request
from fastapi.responses import Response
from starlette.staticfiles import StaticFiles

from farface.kernel import FarfaceError
from farface.report.look import colour_rules, picture_rules
from farface.web.page import refused
from farface.web.visit import Place, Visit


def furnish(app: FastAPI, place: Place, routers: Iterable[APIRouter]) -> FastAPI:
    """Furnish an app with its pages."""
    app.state.place = place
    app.state.paths = set()
    for router in routers:
        app.include_router(router)
        app.state.paths |= {getattr(route, "path", "") for route in router.routes}
    app.mount("/static", StaticFiles(directory=str(files("farface.web").joinpath("static"))), name="static")
    app.get("/look.css", response_class=Response, include_in_schema=False)(_look)
    app.exception_handler(FarfaceError)(_refuse)
    return app


def _look() -> Response:
    return Response(f"{colour_rules(':root')}\n{picture_rules()}", media_type="text/css")


def _refuse(request: Request, error: Exception) -> Response:
    assert isinstance(error, FarfaceError)
    here = Visit(request=request, place=request.app.state.place, texts={})
    return refused(here, error)
