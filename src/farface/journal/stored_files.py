"""Keep copies of files under the name of their content."""

import hashlib
import os
import uuid
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Final

from farface.kernel import Missing

_CHUNK_BYTES: Final = 1 << 20
# A file, its bytes, or its bytes piece by piece.
Source = Path | bytes | Iterable[bytes]


def store(source: Source, folder: Path) -> tuple[str, int]:
    """Copy a file or bytes into ``folder`` under its SHA-256; give that hash and the size in bytes.

    The copy is whole or absent. Raises `Missing` when the source cannot be read or the copy not written.
    """
    try:
        return _copy(_pieces(source), folder)
    except OSError as error:
        name = source if isinstance(source, Path) else "The file"
        raise Missing(
            f"{name} could not be copied into {folder}: {error.strerror}. Put that right, then try again."
        ) from error


def _pieces(source: Source) -> Iterator[bytes]:
    if isinstance(source, bytes):
        yield source
    elif isinstance(source, Path):
        with source.open("rb") as stream:
            while piece := stream.read(_CHUNK_BYTES):
                yield piece
    else:
        yield from source


def _copy(pieces: Iterable[bytes], folder: Path) -> tuple[str, int]:
    """Hash while copying, for a film need not fit into memory."""
    folder.mkdir(parents=True, exist_ok=True)
    unfinished = folder / f".{uuid.uuid4().hex}.part"
    digest, size_bytes = hashlib.sha256(), 0
    try:
        with unfinished.open("xb") as copy:
            for piece in pieces:
                digest.update(piece)
                size_bytes += copy.write(piece)
            copy.flush()
            os.fsync(copy.fileno())
        unfinished.replace(folder / digest.hexdigest())
        _settle(folder)
    finally:
        unfinished.unlink(missing_ok=True)
    return digest.hexdigest(), size_bytes


def _settle(folder: Path) -> None:
    """Force the new name to the disk too; only POSIX systems can open a folder for that."""
    if os.name == "posix":
        descriptor = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(descriptor)
        finally:
            os.close(descriptor)


def sha256_of(path: Path) -> str | None:
    """Hash a file as it lies on the disk; None where there is none that can be read."""
    try:
        with path.open("rb") as stream:
            return hashlib.file_digest(stream, "sha256").hexdigest()
    except OSError:
        return None
