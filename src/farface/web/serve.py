"""Serve one bench on this machine's own address and open a browser on it."""

import os
import socket
import threading
import webbrowser
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from importlib.resources import files
from pathlib import Path
from typing import Final

import uvicorn
from fastapi import FastAPI, Request
from fastapi.responses import Response
from starlette.staticfiles import StaticFiles

from farface import __version__
from farface.kernel import FarfaceError, Missing
from farface.report.look import colour_rules, picture_rules
from farface.web.bodies import Bodies
from farface.web.guard import Guard, Lock
from farface.web.page import refused
from farface.web.pages import ROUTERS
from farface.web.visit import Place, Visit
from farface.web.warm import Warmth

LOOPBACK: Final = "127.0.0.1"


def create_app(folder: Path, journal: str | None = None, *, lock: Lock) -> Guard:
    """Make the pages of one bench behind their guard; nothing is read before the first request."""
    return Guard(Bodies(bare_app(folder, journal)), lock)


def bare_app(folder: Path, journal: str | None = None) -> FastAPI:
    """Make the pages without their guard, which is never to be served."""
    warmth = Warmth(Place(folder=folder, journal=journal))

    @asynccontextmanager
    async def lifespan(_: FastAPI) -> AsyncIterator[None]:
        warmth.start()
        yield

    app = FastAPI(title="farface", version=__version__, docs_url=None, redoc_url=None, lifespan=lifespan)
    app.state.place = Place(folder=folder, journal=journal)
    app.state.warmth = warmth
    app.state.paths = {getattr(route, "path", "") for router in ROUTERS for route in router.routes}
    for router in ROUTERS:
        app.include_router(router)
    app.mount("/static", StaticFiles(directory=str(files("farface.web").joinpath("static"))), name="static")
    app.get("/look.css", response_class=Response, include_in_schema=False)(_look)
    app.exception_handler(FarfaceError)(_refuse)
    return app


def serve(
    folder: Path, journal: str | None, *, port: int, browser: bool, tell: Callable[[str], None]
) -> None:
    """Serve until Ctrl-C; ``tell`` hears the address. A port of 0 takes a free one."""
    with listening(port) as listener:
        chosen = listener.getsockname()[1]
        address = f"http://{LOOPBACK}:{chosen}/"
        app = create_app(folder, journal, lock=Lock.at(chosen))
        config = uvicorn.Config(app, log_level="warning", server_header=False, timeout_graceful_shutdown=2)
        tell(address)
        if browser:
            threading.Thread(target=webbrowser.open, args=(address,), daemon=True).start()
        uvicorn.Server(config).run(sockets=[listener])


def listening(port: int) -> socket.socket:
    """Listen on this machine only; raises `Missing` for a port that is taken."""
    listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    if os.name == "posix":  # elsewhere this would let another program take the port over
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind((LOOPBACK, port))
        listener.listen(64)
    except OSError as error:
        listener.close()
        raise Missing(f"port {port} is taken ({error.strerror}). Leave --port out for a free one.") from error
    return listener


def _look() -> Response:
    return Response(f"{colour_rules(':root')}\n{picture_rules()}", media_type="text/css")


def _refuse(request: Request, error: Exception) -> Response:
    assert isinstance(error, FarfaceError)
    here = Visit(request=request, place=request.app.state.place, texts={})
    return refused(here, error)
