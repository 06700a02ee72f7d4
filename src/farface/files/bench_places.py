"""Put the files of an exported bench into another, never over what is there and never outside of it."""

import hashlib
import os
import uuid
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path, PurePosixPath

from farface.files.archive import Archive, name_fault
from farface.files.atomic import not_written
from farface.files.bench_folder import SUBFOLDERS, Bench
from farface.kernel import Malformed

_SINGLE = ("rig.toml", "bath.toml")


@dataclass(slots=True, kw_only=True)
class Placed:
    """Say which files were written, how many were here already, and which lie aside because they differ."""

    written: list[str] = field(default_factory=list)
    same: int = 0
    aside: list[str] = field(default_factory=list)
    sentences: list[str] = field(default_factory=list)


def check_places(bench: Bench, archive: Archive, places: Mapping[str, str]) -> None:
    """Raise `Malformed` for a path outside of the bench, or one where a bench holds no files."""
    for name in places:
        _check(bench, archive.path.name, name)


def place_files(bench: Bench, archive: Archive, places: Mapping[str, str]) -> Placed:
    """Write each file of ``places`` (path in the bench, member of the archive); repeat it after a crash.

    A file that differs from the one in the bench goes to runs/imported-ARCHIVE instead.
    """
    check_places(bench, archive, places)
    placed = Placed()
    for name, member in places.items():
        sha256 = archive.sha256(member)
        target = bench.folder / name
        if _same(target, sha256):
            placed.same += 1
        elif not target.exists():
            _write(target, archive, member)
            placed.written.append(name)
        else:
            aside = f"runs/imported-{archive.path.stem}/{name}"
            if not _same(bench.folder / aside, sha256):
                _write(bench.folder / aside, archive, member)
            placed.aside.append(aside)
            placed.sentences.append(
                f"{name} differs from the one here, which was kept; the archive's is {aside}."
            )
    return placed


def _check(bench: Bench, file: str, name: str) -> None:
    parts = PurePosixPath(name).parts
    fault = name_fault(name)
    known = name in _SINGLE or (len(parts) > 1 and parts[0] in SUBFOLDERS)
    if fault is None and (not known or parts[:2] == ("runs", "files")):
        fault = "is no place for files in a bench"
    if fault is None and not _stays_inside(bench.folder, name):
        fault = "leads out of the bench by a link"
    if fault is not None:
        raise Malformed(f"{file} would write {name[:80]!r}, which {fault}. Nothing was taken from it.")


def _stays_inside(folder: Path, name: str) -> bool:
    root = folder.resolve()
    return (folder / name).resolve().is_relative_to(root) and not (folder / name).is_symlink()


def _same(path: Path, sha256: str) -> bool:
    if not path.is_file():
        return False
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest() == sha256


def _write(path: Path, archive: Archive, member: str) -> None:
    """Write a member piece by piece beside its place, then put it there."""
    unfinished = path.with_name(f".{uuid.uuid4().hex}.part")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with unfinished.open("xb") as stream:
            for piece in archive.pieces(member):
                stream.write(piece)
            stream.flush()
            os.fsync(stream.fileno())
        unfinished.replace(path)
    except OSError as error:
        raise not_written(path, error) from error
    finally:
        unfinished.unlink(missing_ok=True)
