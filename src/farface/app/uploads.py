"""Take films and drawings into the bench while they come in, never more of them in memory than a piece."""

import shutil
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from farface.files.arrival import Arrival, own_name
from farface.files.bench_folder import open_bench
from farface.files.drawing import PARSERS, read_drawing
from farface.files.drawing_guard import MOST_BYTES
from farface.files.film import READERS, open_film
from farface.kernel import Malformed, OutOfRange

__all__ = ["UPLOADS", "Arrival", "begin_upload", "finish_upload", "room_bytes"]

# So much of the disk stays free for the journal.
SPARE_BYTES: Final = 1_000_000_000


@dataclass(frozen=True, slots=True, kw_only=True)
class UploadKind:
    """Say what may come in: into which folder, with which endings, how much, and how it is looked at."""

    folder: str
    endings: tuple[str, ...]
    most_bytes: int
    check: Callable[[Path], object]


# Raw levels are left out: they need a second file that says how to read them.
UPLOADS: Final = {
    "films": UploadKind(
        folder="films", endings=tuple(e for e in READERS if e != ".raw"), most_bytes=500 * 10**9,
        check=open_film,
    ),
    "drawings": UploadKind(
        folder="drawings", endings=tuple(PARSERS), most_bytes=MOST_BYTES, check=read_drawing
    ),
}  # fmt: skip


def room_bytes(folder: Path, kind: str) -> int:
    """Tell how large a file of a kind of `UPLOADS` may be on this disk now."""
    return max(0, min(UPLOADS[kind].most_bytes, shutil.disk_usage(folder).free - SPARE_BYTES))


def begin_upload(folder: Path, kind: str, name: str, declared_bytes: int | None) -> Arrival:
    """Make ready for a file. Raises for a kind or an ending that is not taken, or one too large to come."""
    if kind not in UPLOADS:
        raise Malformed(f'"{kind[:40]}" is nothing that can be taken in. Send one of: {", ".join(UPLOADS)}.')
    allowed, places = UPLOADS[kind], open_bench(folder)
    if not own_name(name).endswith(allowed.endings):
        raise Malformed(
            f"{own_name(name)} ends in none of {', '.join(allowed.endings)}, which can be read. Convert it "
            "to one of these."
        )
    room = room_bytes(places.folder, kind)
    if declared_bytes is not None and declared_bytes > room:
        raise OutOfRange(
            f"{own_name(name)} has {declared_bytes / 1e6:.4g} MB, but {room / 1e6:.4g} MB may come in. Free "
            "some space on the disk, or cut it into parts."
        )
    return Arrival(places.folder / allowed.folder, name, most_bytes=room)


def finish_upload(arrival: Arrival, kind: str) -> Path:
    """Look at a file that is whole, and put it in place; what cannot be read is dropped with its reason."""
    try:
        UPLOADS[kind].check(arrival.settle())
        return arrival.keep()
    except BaseException:
        arrival.drop()
        raise
