"""Write a ZIP whole or not at all, and read one that may come from anywhere without being harmed by it."""

import hashlib
import os
import re
import stat
import uuid
import zipfile
import zlib
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import Final

from farface.files.atomic import not_written
from farface.kernel import Malformed, Missing, OutOfRange

MOST_MEMBERS: Final = 200_000
# Held in memory at once, such as a manifest; films are copied piece by piece.
MOST_BYTES_HELD: Final = 100_000_000
_CHUNK_BYTES: Final = 1 << 20
# Deflate cannot shrink further than 1032 to 1: a member that says it did is a trap.
_MOST_SHRUNK: Final = 1100
_LONGEST_NAME: Final = 400
# Already compressed: trying again would only take time.
_DENSE: Final = (".mp4", ".mov", ".mkv", ".avi", ".png", ".npz", ".parquet", ".zip")
_DAMAGED: Final = "is no ZIP file, or a damaged one. Get it again from where it came"
# A fixed time, so that the same content gives the same archive.
_EPOCH: Final = (1980, 1, 1, 0, 0, 0)
_FORBIDDEN: Final = re.compile(r'[\x00-\x1f\x7f<>:"|?*\\]')
_DEVICES: Final = re.compile(r"(con|prn|aux|nul|com\d|lpt\d)(\..*)?", re.IGNORECASE)


def name_fault(name: str) -> str | None:
    """Say why a name cannot be that of a file inside a folder on every system; None when it can."""
    if not name or len(name) > _LONGEST_NAME:
        return "is empty or too long"
    if name.startswith("/") or re.match(r"[A-Za-z]:", name):
        return "starts at the root of a disk"
    if _FORBIDDEN.search(name):
        return "holds signs that no file name may have"
    for part in PurePosixPath(name).parts:
        if part == "..":
            return "leads out of its folder"
        if part.endswith((".", " ")) or _DEVICES.fullmatch(part):
            return "is the name of a device, or ends in a dot or a blank"
    if name.endswith("/") or str(PurePosixPath(name)) != name:
        return "is not written plainly"
    return None


def write_archive(path: Path, members: Iterable[tuple[str, bytes | Path, str | None]]) -> str:
    """Write members into a ZIP beside its place, then put it there in one step; give its SHA-256.

    Each member has a name, a content, and the hash that the content must have, where one is known. Raises
    `Missing` when there is no room, no folder or no right to write, or a member cannot be read, and
    `Malformed` when a member was changed meanwhile.
    """
    unfinished = path.with_name(f".{uuid.uuid4().hex}.part")
    try:
        with unfinished.open("xb") as stream:
            with zipfile.ZipFile(stream, "w", allowZip64=True) as archive:
                for name, content, sha256 in members:
                    if _add(archive, name, content) != sha256 and sha256 is not None:
                        raise Malformed(f"{name} was changed while it was exported. Export again.")
            stream.flush()
            os.fsync(stream.fileno())
        sha256 = _hash(unfinished)
        unfinished.replace(path)
    except OSError as error:
        raise not_written(path, error) from error
    finally:
        unfinished.unlink(missing_ok=True)
    return sha256


def _add(archive: zipfile.ZipFile, name: str, content: bytes | Path) -> str:
    """Write one member and give the hash of what was written."""
    info = zipfile.ZipInfo(name, _EPOCH)
    info.compress_type = zipfile.ZIP_STORED if name.lower().endswith(_DENSE) else zipfile.ZIP_DEFLATED
    info.external_attr = 0o644 << 16
    if isinstance(content, bytes):
        archive.writestr(info, content)
        return hashlib.sha256(content).hexdigest()
    digest = hashlib.sha256()
    info.file_size = content.stat().st_size
    with content.open("rb") as source, archive.open(info, "w") as target:
        while piece := source.read(_CHUNK_BYTES):
            digest.update(piece)
            target.write(piece)
    return digest.hexdigest()


def _hash(path: Path) -> str:
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()


@dataclass(frozen=True, slots=True, kw_only=True)
class Archive:
    """Hold an opened ZIP whose names and sizes were found harmless; read its members by name."""

    path: Path
    _zip: zipfile.ZipFile

    def names(self) -> frozenset[str]:
        """List the members."""
        return frozenset(info.filename for info in self._zip.infolist())

    def read(self, name: str) -> bytes:
        """Read a small member whole; `Missing` when it is not there, `OutOfRange` when it is not small."""
        if self._info(name).file_size > MOST_BYTES_HELD:
            raise OutOfRange(
                f"{name} in {self.path.name} has more than {MOST_BYTES_HELD // 10**6} MB. Export less at "
                f"once."
            )
        return b"".join(self.pieces(name))

    def sha256(self, name: str) -> str:
        """Hash a member of any size."""
        digest = hashlib.sha256()
        for piece in self.pieces(name):
            digest.update(piece)
        return digest.hexdigest()

    def lines(self, name: str) -> Iterator[bytes]:
        """Read a member line by line; `OutOfRange` when one is too long to be held in memory."""
        held = b""
        for piece in self.pieces(name):
            *whole, held = (held + piece).split(b"\n")
            yield from whole
            if len(held) > MOST_BYTES_HELD:
                raise OutOfRange(
                    f"{name} in {self.path.name} has a line of over {MOST_BYTES_HELD // 10**6} MB. Export "
                    f"again."
                )
        if held:
            yield held

    def pieces(self, name: str) -> Iterator[bytes]:
        """Read a member piece by piece; `Malformed` when it turns out damaged."""
        with _spoken(self.path):
            stream = self._zip.open(self._info(name))
        with stream:
            while True:
                with _spoken(self.path):
                    piece = stream.read(_CHUNK_BYTES)
                if not piece:
                    return
                yield piece

    def _info(self, name: str) -> zipfile.ZipInfo:
        try:
            return self._zip.getinfo(name)
        except KeyError:
            raise Missing(f"{self.path.name} lacks {name}. Export it again.") from None


@contextmanager
def open_archive(path: Path) -> Iterator[Archive]:
    """Open a ZIP and look at every name and size in it before anything is read.

    Raises `Missing` for no such file; `Malformed` for a damaged one, for a name that leads out of its folder
    or stands twice, for a link, for a member that is encrypted or says it shrank more than can be.
    """
    if not path.is_file():
        raise Missing(f"There is no file {path}. Check the name.")
    with _spoken(path):
        opened = zipfile.ZipFile(path)
    with opened:
        _check(path.name, opened.infolist())
        yield Archive(path=path, _zip=opened)


def _check(file: str, infos: list[zipfile.ZipInfo]) -> None:
    if len(infos) > MOST_MEMBERS:
        raise OutOfRange(
            f"{file} has {len(infos)} members; up to {MOST_MEMBERS} are read. Export less at once."
        )
    seen: set[str] = set()
    for info in infos:
        fault = name_fault(info.orig_filename) or _member_fault(info)
        if fault is None and info.filename.casefold() in seen:
            fault = "stands there twice"
        if fault is not None:
            raise Malformed(
                f"{file} holds {info.orig_filename[:80]!r}, which {fault}. Nothing was taken from it: get an "
                "archive that farface wrote."
            )
        seen.add(info.filename.casefold())


def _member_fault(info: zipfile.ZipInfo) -> str | None:
    mode = info.external_attr >> 16
    if mode and not stat.S_ISREG(mode) and stat.S_IFMT(mode) != 0:
        return "is a link or a device, not a file"
    if info.flag_bits & 0x1:
        return "is encrypted"
    if info.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
        return "is compressed in a way that is not read"
    if info.file_size > _MOST_SHRUNK * max(info.compress_size, 1) + _CHUNK_BYTES:
        return "says it is larger than it can be"
    return None


@contextmanager
def _spoken(path: Path) -> Iterator[None]:
    """Turn what the ZIP library says of a damaged file into a sentence."""
    try:
        yield
    except (zipfile.BadZipFile, zlib.error, NotImplementedError, EOFError, RuntimeError, ValueError) as error:
        raise Malformed(f"{path.name} {_DAMAGED}.") from error
    except OSError as error:
        raise Missing(f"{path.name} cannot be read: {error.strerror or error}. Copy it again.") from error
