"""Take in films and drawings as they come, piece by piece; what comes too slowly or too large is refused."""

import asyncio
import time
from typing import Annotated, Final

from fastapi import APIRouter, Query, Request
from fastapi.responses import JSONResponse
from starlette.concurrency import run_in_threadpool
from starlette.requests import ClientDisconnect

from farface.app.uploads import Arrival, begin_upload, finish_upload
from farface.kernel import FarfaceError, OutOfRange
from farface.web.visit import Here

router = APIRouter()

PIECE_BYTES: Final = 1 << 20
CREATED: Final = 201
TOO_SLOW: Final = 408
TOO_LARGE: Final = 413
UNUSABLE: Final = 422


class Patience:
    """Say how long nothing may come, and how little after a while; shorter in tests."""

    silent_s: float = 30.0
    grace_s: float = 60.0
    least_bytes_per_s: float = 10_000.0


PATIENCE: Final = Patience()


@router.post("/uploads/{kind}", status_code=CREATED)
async def upload(
    here: Here, request: Request, kind: str,
    name: Annotated[str, Query(min_length=1, max_length=300, description="what the file is called")],
) -> JSONResponse:  # fmt: skip
    """Stream a raw body into the bench; answers with the name that it got there."""
    declared = request.headers.get("content-length", "")
    arrival: Arrival | None = None
    try:
        size = int(declared) if declared.isdigit() else None
        arrival = await run_in_threadpool(begin_upload, here.place.folder, kind, name, size)
        await _stream(request, arrival)
        path = await run_in_threadpool(finish_upload, arrival, kind)
    except FarfaceError as error:
        status = TOO_LARGE if isinstance(error, OutOfRange) else UNUSABLE
        return JSONResponse({"error": str(error)}, status_code=status)
    except TimeoutError:
        words = "It came too slowly and was given up; nothing of it was kept. Send it again."
        return JSONResponse({"error": words}, status_code=TOO_SLOW)
    except ClientDisconnect:
        return JSONResponse({"error": "It was cut off; nothing of it was kept."}, status_code=UNUSABLE)
    finally:
        if arrival is not None:
            arrival.drop()
    return JSONResponse({"name": path.name, "size_bytes": arrival.size_bytes}, status_code=CREATED)


async def _stream(request: Request, arrival: Arrival) -> None:
    """Hand the body on in pieces of a megabyte. Raises `TimeoutError` where it comes too slowly."""
    pieces = request.stream()
    gathered = bytearray()
    start_s = time.monotonic()
    came = 0
    while True:
        async with asyncio.timeout(PATIENCE.silent_s):
            piece = await anext(pieces, b"")
        came += len(piece)
        took_s = time.monotonic() - start_s
        if took_s > PATIENCE.grace_s and came < PATIENCE.least_bytes_per_s * took_s:
            raise TimeoutError
        gathered += piece
        if len(gathered) >= PIECE_BYTES or (gathered and not piece):
            await run_in_threadpool(arrival.take, bytes(gathered))
            gathered.clear()
        if not piece:
            return
