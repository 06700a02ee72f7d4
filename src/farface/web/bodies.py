"""Refuse bodies larger than a form needs, counted while they are read; uploads set their own limit."""

from typing import Final

from starlette.datastructures import Headers
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

MOST_BYTES: Final = 1_000_000
TOO_LARGE: Final = 413
# Paths below which a body is streamed to the disk, with a limit and a clock of their own.
UPLOADS: Final = ("/uploads/",)


class Bodies:
    """Count the bytes of a body while they come in, and stop at the limit."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on, with its body counted."""
        if scope["type"] != "http" or scope["path"].startswith(UPLOADS):
            await self.app(scope, receive, send)
            return
        declared = Headers(scope=scope).get("content-length", "0")
        if not declared.isdigit() or int(declared) > MOST_BYTES:
            await _too_large(scope, receive, send)
            return
        seen, started = 0, False

        async def receive_counted() -> Message:
            nonlocal seen
            message = await receive()
            seen += len(message.get("body", b""))
            if seen > MOST_BYTES:
                raise _TooLarge
            return message

        async def send_noted(message: Message) -> None:
            nonlocal started
            started = True
            await send(message)

        try:
            await self.app(scope, receive_counted, send_noted)
        except _TooLarge:
            if started:
                raise
            await _too_large(scope, receive, send)


class _TooLarge(Exception):
    """Stop reading."""


async def _too_large(scope: Scope, receive: Receive, send: Send) -> None:
    words = f"This is more than the {MOST_BYTES // 1_000_000} MB that a form may send. Send less at once."
    await PlainTextResponse(words, status_code=TOO_LARGE)(scope, receive, send)
