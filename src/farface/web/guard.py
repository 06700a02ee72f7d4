"""Refuse every request that did not come from our own pages, before anything else looks at it."""

import secrets
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Final

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

READING: Final = frozenset({"GET", "HEAD"})
REFUSED: Final = 403

# Pages run only what is served from here; nothing of it may be framed, sniffed or read from elsewhere.
HEADERS: Final = {
    "content-security-policy": "default-src 'self'; img-src 'self' data: blob:; object-src 'none'; "
    "base-uri 'none'; form-action 'self'; frame-ancestors 'none'",
    "x-content-type-options": "nosniff",
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(), geolocation=(), microphone=(), payment=(), usb=()",
    "cache-control": "no-cache",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Lock:
    """Hold whom the guard lets in: the names it is reached by, and a token that dies with the program.

    ``hosts`` are values of the Host header, port included. Browsers share cookies between the ports of a
    machine, so the cookie bears the port in its name.
    """

    hosts: frozenset[str]
    cookie: str = "farface"
    token: str = field(default_factory=lambda: secrets.token_urlsafe(32))

    @classmethod
    def at(cls, port: int, names: Iterable[str] = ("127.0.0.1", "localhost", "[::1]")) -> "Lock":
        """Make the lock of a server on this machine's own addresses."""
        ends = ("", ":80") if port == 80 else (f":{port}",)
        return cls(hosts=frozenset(n + end for n in names for end in ends), cookie=f"farface-{port}")


class Guard:
    """Check Host, Origin, Sec-Fetch-Site and token, and set the headers; the outermost of all.

    A request must name one of our hosts. An Origin, where there is one, must be ours. A change must carry
    the token's cookie, and where it has no Origin it may not come from another site.
    """

    def __init__(self, app: ASGIApp, lock: Lock) -> None:
        self.app = app
        self.lock = lock

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request through, or answer it with a sentence; lifespan messages pass."""
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        headers = Headers(scope=scope)
        reason = self._refusal(scope, headers)
        known = f"{self.lock.cookie}={self.lock.token}" in _cookies(headers)

        async def send_guarded(message: Message) -> None:
            if message["type"] == "http.response.start":
                self._dress(message, give_token=reason is None and not known)
            await send(message)

        if reason is None:
            await self.app(scope, receive, send_guarded)
        elif scope["type"] == "websocket":
            await send({"type": "websocket.close", "code": 1008, "reason": reason})
        else:
            await PlainTextResponse(reason, status_code=REFUSED)(scope, receive, send_guarded)

    def _refusal(self, scope: Scope, headers: Headers) -> str | None:
        """Say why a request is refused; None lets it in."""
        hosts = headers.getlist("host")
        if len(hosts) != 1 or hosts[0].lower() not in self.lock.hosts:
            return "This address is not one that farface serves. Open the address that it printed."
        origins = headers.getlist("origin")
        if origins and origins != [f"http://{hosts[0].lower()}"]:
            return "This request came from another site. farface answers only its own pages."
        if scope.get("method") in READING:
            return None
        if not origins and headers.get("sec-fetch-site", "same-origin") != "same-origin":
            return "This request came from another site. farface answers only its own pages."
        if f"{self.lock.cookie}={self.lock.token}" not in _cookies(headers):
            return "This page was opened before farface was started again. Reload it and try again."
        return None

    def _dress(self, message: Message, *, give_token: bool) -> None:
        """Set the headers of an answer, and the token's cookie where the browser has none that holds."""
        headers = MutableHeaders(raw=message["headers"])
        for name, value in HEADERS.items():
            headers.setdefault(name, value)
        if give_token:
            headers.append(
                "set-cookie", f"{self.lock.cookie}={self.lock.token}; HttpOnly; Path=/; SameSite=Strict"
            )


def _cookies(headers: Headers) -> list[str]:
    return [part.strip() for line in headers.getlist("cookie") for part in line.split(";")]
