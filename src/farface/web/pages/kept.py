"""Give back files that the journal keeps, by the hash of their content and never by a path."""

from typing import Annotated

from fastapi import APIRouter, Path
from fastapi.responses import FileResponse

from farface.app.kept import kept_file
from farface.web.visit import Here

router = APIRouter()

Sha = Annotated[str, Path(pattern="^[0-9a-f]{64}$", description="SHA-256 of the file's content")]


@router.get("/kept/{sha256}", response_class=FileResponse)
def kept(here: Here, sha256: Sha) -> FileResponse:
    """Give one kept file to save; the browser never runs or shows it here."""
    with here.bench() as work:
        found = kept_file(work, sha256)
    return FileResponse(
        found.path, filename=found.name or f"{sha256[:12]}", media_type="application/octet-stream",
        headers={"content-security-policy": "sandbox; default-src 'none'"},
    )  # fmt: skip
