"""Keep a film's frames one by one as JPEG, so that any of them is there at once.

Films are packed from frame to frame: a jump into one costs the frames before it, 0.2 s in a long one. Here
all frames lie one after another in one file, and a second one tells where each ends.
"""

import io
import json
import shutil
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from farface.kernel import Missing

QUALITY: Final = 88
_END_BYTES: Final = 8
# Frames may be looked at while later ones are still being written.
_FLUSHED_EVERY: Final = 64


class FrameStore:
    """Hold the frames of one film in a folder of their own; reading needs no lock and no memory."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._frames, self._ends = folder / "frames.jpegs", folder / "ends.u64"
        self._notes = folder / "film.json"

    def __len__(self) -> int:
        """Count the frames that are there by now."""
        return self._ends.stat().st_size // _END_BYTES if self._ends.is_file() else 0

    def notes(self) -> dict[str, Any] | None:
        """Give what was written at the end with `finish`; None until then."""
        return json.loads(self._notes.read_text("utf-8")) if self._notes.is_file() else None

    def jpeg(self, number: int) -> bytes:
        """Read a frame, counted from 0. Raises `Missing` for one that is not there."""
        count = len(self)
        if not 0 <= number < count:
            raise Missing(f"There is no frame {number}; {count} frames can be looked at, counted from 0.")
        with self._ends.open("rb") as ends:
            ends.seek(max(0, number - 1) * _END_BYTES)
            found = np.frombuffer(ends.read(2 * _END_BYTES if number else _END_BYTES), "<u8")
        start, end = (0, int(found[0])) if number == 0 else (int(found[0]), int(found[1]))
        with self._frames.open("rb") as frames:
            frames.seek(start)
            return frames.read(end - start)

    def write(self, frames: Iterable[NDArray[np.uint8]]) -> Iterator[int]:
        """Write frames, each of shape (row, column), anew; gives the count after each."""
        shutil.rmtree(self.folder, ignore_errors=True)
        self.folder.mkdir(parents=True)
        end = 0
        with self._frames.open("wb") as kept, self._ends.open("wb") as ends:
            for number, frame in enumerate(frames, start=1):
                end += kept.write(_jpeg(frame))
                ends.write(end.to_bytes(_END_BYTES, "little"))
                if number % _FLUSHED_EVERY == 0:
                    kept.flush()
                    ends.flush()
                yield number

    def finish(self, notes: dict[str, Any]) -> None:
        """Note what was found out on the way, which also says that all frames are there."""
        part = self._notes.with_suffix(".part")
        part.write_text(json.dumps(notes), "utf-8")
        part.replace(self._notes)


def _jpeg(frame: NDArray[np.uint8]) -> bytes:
    from PIL import Image

    target = io.BytesIO()
    Image.fromarray(np.ascontiguousarray(frame)).save(target, "JPEG", quality=QUALITY)
    return target.getvalue()
