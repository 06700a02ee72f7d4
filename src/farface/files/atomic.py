"""Write a file whole or not at all."""

import errno
import os
import uuid
from collections.abc import Iterable
from pathlib import Path
from typing import Final

from farface.kernel import FarfaceError, Missing

_REASONS: Final[dict[int, str]] = {
    errno.ENOSPC: "the disk is full. Free some space",
    errno.EDQUOT: "your share of the disk is used up. Free some space",
    errno.EFBIG: "the file is larger than this disk takes. Choose another disk",
    errno.EACCES: "you may not write there. Choose another place, or ask for the right to write",
    errno.EPERM: "you may not write there. Choose another place, or ask for the right to write",
    errno.EROFS: "that disk is read-only. Choose another place",
    errno.ENOENT: "its folder does not exist. Make the folder",
    errno.ENOTDIR: "part of its path is a file, not a folder. Choose another place",
    errno.EISDIR: "a folder has that name. Choose another name",
    errno.ENAMETOOLONG: "its name is too long. Choose a shorter one",
}


def write_atomically(path: Path, content: bytes | Iterable[bytes]) -> None:
    """Write ``content``, whole or piece by piece, beside ``path``, then put it in place in one step.

    It is forced to the disk before. What is given in pieces is never all in memory, however long it is.
    Whoever reads ``path`` sees the old content or the new, never a part; after a failure the old stands.
    Raises `Missing` when there is no room, no folder or no right to write.
    """
    unfinished = path.with_name(f".{uuid.uuid4().hex}.part")
    try:
        with unfinished.open("xb") as file:
            for piece in (content,) if isinstance(content, bytes) else content:
                file.write(piece)
            file.flush()
            os.fsync(file.fileno())
        unfinished.replace(path)
        _settle_folder(path.parent)
    except OSError as error:
        raise not_written(path, error) from error
    finally:
        # After success the name is gone; after any failure, Ctrl-C included, the part must not stay behind.
        _discard(unfinished)


def not_written(path: Path, error: OSError) -> FarfaceError:
    """Turn the system's refusal to write ``path`` into a sentence for the person."""
    reason = _REASONS.get(error.errno or 0, f"the system says: {error.strerror or error}. Put that right")
    return Missing(f"{path} could not be written: {reason}, then try again.")


def _settle_folder(folder: Path) -> None:
    """Force the new name itself to the disk; only POSIX systems can open a folder for that."""
    if os.name != "posix":
        return
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


def _discard(path: Path) -> None:
    """Remove a file that may not exist, on a disk that may refuse."""
    try:
        path.unlink(missing_ok=True)
    except OSError:
        return
