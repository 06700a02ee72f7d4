"""Serve a printed sheet or report of ours as it lies in the bench: nothing in it runs, nothing is fetched."""

import html
import re
from base64 import b64encode
from hashlib import sha256
from typing import Final

from fastapi.responses import HTMLResponse, Response

_STYLE: Final = re.compile(r"<style>(.*?)</style>", re.DOTALL)


def document(content: bytes) -> HTMLResponse:
    """Answer with an HTML file; only the styles that stand in it apply, and only our pages may frame it."""
    text = content.decode("utf-8", "replace")
    styles = {style for found in _STYLE.findall(text) for style in (found, html.unescape(found))}
    hashes = " ".join(sorted(f"'sha256-{b64encode(sha256(s.encode()).digest()).decode()}'" for s in styles))
    policy = (
        f"default-src 'none'; img-src data:; style-src 'self' {hashes}; base-uri 'none'; "
        "form-action 'none'; frame-ancestors 'self'"
    )
    return HTMLResponse(text, headers={"content-security-policy": policy})


def download(content: bytes, *, name: str, media_type: str) -> Response:
    """Answer with a file to keep; ``name`` is ours, letters and digits."""
    return Response(
        content, media_type=media_type, headers={"content-disposition": f'attachment; filename="{name}"'}
    )
