"""Keep copies of files under the name of their content."""

import hashlib
import io
import os
import uuid
from pathlib import Path
from typing import BinaryIO, Final

from farface.kernel import Missing

_CHUNK_BYTES: Final = 1 << 20


def store(source: Path | bytes, folder: Path) -> tuple[str, int]:
    """Copy a file or bytes into ``folder`` under its SHA-256; give that hash and the size in bytes.

    The copy is whole or absent. Raises `Missing` when the source cannot be read or the copy not written.
    """
    try:
        with _opened(source) as stream:
            return _copy(stream, folder)
    except OSError as error:
        name = source if isinstance(source, Path) else "The file"
        raise Missing(
            f"{name} could not be copied into {folder}: {error.strerror}. Put that right, then try again."
        ) from error


def _opened(source: Path | bytes) -> BinaryIO:
    return source.open("rb") if isinstance(source, Path) else io.BytesIO(source)


def _copy(stream: BinaryIO, folder: Path) -> tuple[str, int]:
    """Hash while copying, for a film need not fit into memory."""
    folder.mkdir(parents=True, exist_ok=True)
    unfinished = folder / f".{uuid.uuid4().hex}.part"
    digest, size_bytes = hashlib.sha256(), 0
    try:
        with unfinished.open("xb") as copy:
            while chunk := stream.read(_CHUNK_BYTES):
                digest.update(chunk)
                size_bytes += copy.write(chunk)
            copy.flush()
            os.fsync(copy.fileno())
        unfinished.replace(folder / digest.hexdigest())
    finally:
        unfinished.unlink(missing_ok=True)
    return digest.hexdigest(), size_bytes
