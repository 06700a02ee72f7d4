"""Open a second, narrow door for a phone at the bench: outcomes only, at an address the person named.

The traffic is plain HTTP, so whoever is on that network can read it; a code that is shown at the bench lets a
phone in, and few wrong ones close the door to new phones.
"""

import secrets
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Final

import uvicorn
from fastapi import FastAPI
from starlette.datastructures import Headers
from starlette.responses import JSONResponse, RedirectResponse
from starlette.types import ASGIApp, Receive, Scope, Send

from farface.web.bodies import Bodies
from farface.web.furnish import furnish
from farface.web.guard import Guard, Lock
from farface.web.listen import host_of, network_address, usual
from farface.web.pages.outcomes import typing_router
from farface.web.pages.pairing import router as pairing_router
from farface.web.visit import Place

TRIES: Final = 5
DIGITS: Final = 6
_OPEN: Final = ("/", "/pair", "/look.css")
_CHANGES: Final = frozenset({"POST", "PUT", "PATCH", "DELETE"})


class Share:
    """Hold an open door: where it is, the code that is shown at the bench, and the token of paired phones."""

    def __init__(self, address: str, port: int) -> None:
        self.url = f"http://{host_of(address)}:{port}/"
        self.cookie = f"farface-pair-{port}"
        self.token = secrets.token_urlsafe(32)
        self.server: uvicorn.Server | None = None
        self.phones = 0
        self._lock = threading.Lock()
        self.renew()

    @property
    def closed(self) -> bool:
        """Tell whether no new phone is let in, after too many wrong codes."""
        return self._left <= 0

    def renew(self) -> None:
        """Draw a new code, which opens a closed door again; phones that are paired stay so."""
        with self._lock:
            self.code = f"{secrets.randbelow(10**DIGITS):0{DIGITS}d}"
            self._left = TRIES

    def pair(self, code: str) -> bool:
        """Try a code; each wrong one counts, whoever sent it."""
        with self._lock:
            if self.closed:
                return False
            if secrets.compare_digest(code.encode(), self.code.encode()):
                self.phones += 1
                self._left = TRIES
                return True
            self._left -= 1
            return False

    def knows(self, headers: Headers) -> bool:
        """Tell whether a request comes from a paired phone."""
        cookies = [part.strip() for line in headers.getlist("cookie") for part in line.split(";")]
        mine = f"{self.cookie}={self.token}"
        return any(secrets.compare_digest(one.encode(), mine.encode()) for one in cookies)

    def stop(self) -> None:
        """Close the door for good."""
        if self.server is not None:
            self.server.should_exit = True

    @property
    def open(self) -> bool:
        """Tell whether the door still stands open."""
        return self.server is not None and not self.server.should_exit


class Paired:
    """Let only paired phones past the page where they give their code."""

    def __init__(self, app: ASGIApp, share: Share) -> None:
        self.app = app
        self.share = share

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request of a paired phone on; send others to the code, or refuse their change."""
        if scope["type"] != "http":
            return
        path = scope["path"]
        if path in _OPEN or path.startswith("/static/") or self.share.knows(Headers(scope=scope)):
            await self.app(scope, receive, send)
        elif scope["method"] in _CHANGES or path.endswith(".json"):
            told = {"error": "This phone is not paired. Open the first page and type the code."}
            await JSONResponse(told, status_code=401)(scope, receive, send)
        else:
            await RedirectResponse("/", status_code=303)(scope, receive, send)


def share_app(place: Place, share: Share, *, address: str, port: int) -> Guard:
    """Make the app of the second door: pairing and outcomes, and no other route."""
    bare = FastAPI(title="farface", openapi_url=None, docs_url=None, redoc_url=None)
    furnish(bare, place, (pairing_router, typing_router))
    bare.state.shared, bare.state.share, bare.state.paths = True, share, {"/outcomes"}
    return Guard(Bodies(Paired(bare, share)), Lock.at(port, names=(host_of(address),)))


@contextmanager
def sharing(folder: Path, journal: str | None, address: str, port: int = 0) -> Iterator[Share]:
    """Keep the second door open while the context lasts."""
    address = network_address(address)
    with usual(folder, port, address) as listener:
        chosen = listener.getsockname()[1]
        share = Share(address, chosen)
        app = share_app(Place(folder=folder, journal=journal), share, address=address, port=chosen)
        config = uvicorn.Config(app, log_level="warning", server_header=False, timeout_graceful_shutdown=2)
        share.server = uvicorn.Server(config)
        thread = threading.Thread(target=share.server.run, kwargs={"sockets": [listener]}, daemon=True)
        thread.start()
        try:
            yield share
        finally:
            share.stop()
            thread.join(5.0)


def warning(share: Share) -> tuple[str, ...]:
    """Say what the door exposes, and how a phone comes in."""
    return (
        f"Phones reach {share.url} with the code {share.code}.",
        "There they can read this bench's coupons and outcomes and type outcomes in, and nothing else.",
        "It is plain HTTP: whoever is on that network can read what is sent, the code included. Share on a "
        "network of your own only. It closes with this program.",
    )
