"""Serve one bench on this machine's own address and open a browser on it."""

import threading
import webbrowser
from collections.abc import AsyncIterator, Callable
from contextlib import ExitStack, asynccontextmanager
from pathlib import Path

import uvicorn
from fastapi import FastAPI

from farface import __version__
from farface.web.bodies import Bodies
from farface.web.furnish import furnish
from farface.web.guard import Guard, Lock
from farface.web.listen import LOOPBACK, listening, usual
from farface.web.pages import ROUTERS
from farface.web.share import Share, sharing, warning
from farface.web.visit import Place
from farface.web.warm import Warmth

__all__ = ["LOOPBACK", "bare_app", "create_app", "listening", "serve"]


def create_app(folder: Path, journal: str | None = None, *, lock: Lock, share: Share | None = None) -> Guard:
    """Make the pages of one bench behind their guard; nothing is read before the first request.

    ``share`` is the door for phones that stands open beside them, if one does.
    """
    bare = bare_app(folder, journal)
    bare.state.share = share
    return Guard(Bodies(bare), lock)


def bare_app(folder: Path, journal: str | None = None) -> FastAPI:
    """Make the pages without their guard, which is never to be served."""
    warmth = Warmth(Place(folder=folder, journal=journal))

    @asynccontextmanager
    async def lifespan(_: FastAPI) -> AsyncIterator[None]:
        warmth.start()
        yield

    app = FastAPI(title="farface", version=__version__, docs_url=None, redoc_url=None, lifespan=lifespan)
    app.state.warmth = warmth
    return furnish(app, Place(folder=folder, journal=journal), ROUTERS)


def serve(
    folder: Path,
    journal: str | None,
    *,
    port: int,
    browser: bool,
    tell: Callable[[str], None],
    share: str | None = None,
) -> None:
    """Serve until Ctrl-C; ``tell`` hears the address. A port of 0 takes the bench's usual one, or a free one.

    ``share`` is an address of this machine at which phones may type outcomes in.
    """
    with ExitStack() as stack:
        listener = stack.enter_context(usual(folder, port))
        chosen = listener.getsockname()[1]
        address = f"http://{LOOPBACK}:{chosen}/"
        door = None if share is None else stack.enter_context(sharing(folder, journal, share))
        app = create_app(folder, journal, lock=Lock.at(chosen), share=door)
        config = uvicorn.Config(app, log_level="warning", server_header=False, timeout_graceful_shutdown=2)
        for words in (address, *(() if door is None else warning(door))):
            tell(words)
        if browser:
            threading.Thread(target=webbrowser.open, args=(address,), daemon=True).start()
        uvicorn.Server(config).run(sockets=[listener])
