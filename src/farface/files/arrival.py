"""Take in a file that comes piece by piece: beside its place until it is whole, then in place in one step."""

import os
import re
import shutil
import time
import uuid
from pathlib import Path
from typing import Final

from farface.files.atomic import not_written
from farface.kernel import OutOfRange

# What a killed program left behind is cleared away once nothing can still be writing it.
FORGOTTEN_S: Final = 24 * 3600.0
_LONGEST_NAME: Final = 80
_UNSAFE: Final = re.compile(r"[^\w. -]+")


def own_name(name: str) -> str:
    """Make a name for the disk from one that someone gave: letters, digits, and ``. _ -`` only.

    Folders are left out, so that no name leads anywhere; the ending is kept.
    """
    last = re.split(r"[/\\]", name)[-1]
    stem, _, ending = last.rpartition(".")
    stem, ending = (_UNSAFE.sub("-", part).strip(" .-").replace(" ", "-") for part in (stem, ending))
    return f"{stem[:_LONGEST_NAME] or 'unnamed'}.{ending[:10].lower()}"


class Arrival:
    """Write a file that is coming in to ``.ID.part/NAME`` in its folder; `keep` puts it in place.

    ``path`` is where it lies meanwhile, under its own name, so that readers can look at it there. Whatever
    goes wrong, `drop` leaves nothing behind.
    """

    def __init__(self, folder: Path, name: str, *, most_bytes: int) -> None:
        """Begin. Raises `Missing` where the folder cannot be written."""
        _clear_forgotten(folder)
        self.folder, self.most_bytes, self.size_bytes = folder, most_bytes, 0
        self._part = folder / f".{uuid.uuid4().hex}.part"
        self.path = self._part / own_name(name)
        try:
            self._part.mkdir(parents=True)
            self._file = self.path.open("xb")
        except OSError as error:
            raise not_written(self.path, error) from error

    def take(self, piece: bytes) -> None:
        """Write the next piece. Raises `OutOfRange` past the limit, `Missing` when the disk refuses."""
        self.size_bytes += len(piece)
        if self.size_bytes > self.most_bytes:
            raise OutOfRange(
                f"{self.path.name} is larger than the {self.most_bytes / 1e6:.4g} MB that may come in. Free "
                "some space on the disk, or cut it into parts."
            )
        try:
            self._file.write(piece)
        except OSError as error:
            raise not_written(self.path, error) from error

    def settle(self) -> Path:
        """Force everything to the disk, and give the path of the whole file for a look at it."""
        try:
            self._file.flush()
            os.fsync(self._file.fileno())
            self._file.close()
        except OSError as error:
            raise not_written(self.path, error) from error
        return self.path

    def keep(self) -> Path:
        """Put the settled file in place, under a name that is free; nothing is written over."""
        stem, ending = self.path.stem, self.path.suffix
        target, number = self.folder / self.path.name, 1
        while True:
            try:
                os.link(self.path, target)  # unlike a rename, this never replaces what is there
                break
            except FileExistsError:
                number += 1
                target = self.folder / f"{stem}-{number}{ending}"
            except OSError:  # a disk without links
                if not target.exists():
                    self.path.replace(target)
                    break
                number += 1
                target = self.folder / f"{stem}-{number}{ending}"
        self.drop()
        return target

    def drop(self) -> None:
        """Leave nothing behind."""
        self._file.close()
        shutil.rmtree(self._part, ignore_errors=True)


def _clear_forgotten(folder: Path) -> None:
    """Remove the parts that an earlier, killed program left behind."""
    for part in folder.glob(".*.part"):
        if (
            part.is_dir()
            and time.time() - max(one.stat().st_mtime for one in (part, *part.iterdir())) > FORGOTTEN_S
        ):
            shutil.rmtree(part, ignore_errors=True)
