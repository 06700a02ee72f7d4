"""Lay out the bench: one folder that holds everything of one set-up."""

import stat
import uuid
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from farface.files.atomic import not_written, write_atomically
from farface.kernel import Malformed, Missing

__all__ = ["SUBFOLDERS", "Bench", "make_bench", "open_bench", "write_atomically"]

SUBFOLDERS: Final = ("coupons", "films", "drawings", "runs", "reports")


@dataclass(frozen=True, slots=True, kw_only=True)
class Bench:
    """Name the places of a bench."""

    folder: Path

    @property
    def journal(self) -> Path:
        """Name the file of the permanent record."""
        return self.folder / "journal.sqlite"

    @property
    def address(self) -> Path:
        """Name the file that says where the record is kept, if not here."""
        return self.folder / "journal.toml"

    @property
    def rig(self) -> Path:
        """Name the description of the rig."""
        return self.folder / "rig.toml"

    @property
    def bath(self) -> Path:
        """Name the description of the bath."""
        return self.folder / "bath.toml"

    @property
    def coupons(self) -> Path:
        """Name the folder of coupons, their bench sheets and outcomes."""
        return self.folder / "coupons"

    @property
    def films(self) -> Path:
        """Name the folder of films."""
        return self.folder / "films"

    @property
    def drawings(self) -> Path:
        """Name the folder of drawings."""
        return self.folder / "drawings"

    @property
    def runs(self) -> Path:
        """Name the folder of what was written for a machine."""
        return self.folder / "runs"

    @property
    def reports(self) -> Path:
        """Name the folder of reports."""
        return self.folder / "reports"


def is_bench(path: Path) -> bool:
    """Tell whether a folder is a bench."""
    return _is_bench(Bench(folder=path))


def make_bench(path: Path) -> Bench:
    """Make the folders of a new bench in a folder that is new or empty.

    An interrupted `make_bench` can be repeated. Raises `Malformed` when something else is already there
    and `Missing` when the folder cannot be written.
    """
    bench = Bench(folder=path)
    if _is_folder(path):
        if _is_bench(bench):
            raise Malformed(f"{path} is a bench already. Open it, or name another folder for a new one.")
        if not all(_is_bare_subfolder(entry) for entry in _entries(path)):
            raise Malformed(f"{path} holds other things, but a bench wants a folder to itself. Name another.")
    _make_subfolders(bench)
    _check_writable(bench)
    return bench


def open_bench(path: Path) -> Bench:
    """Open a bench, which is a folder with a journal or a rig; subfolders that are gone are made again.

    Raises `Missing` when there is no such folder or it cannot be written, `Malformed` when it is no bench.
    """
    if not _is_folder(path):
        raise Missing(f"There is no folder {path}. Make a bench there first, or name the right folder.")
    bench = Bench(folder=path)
    if not _is_bench(bench):
        raise Malformed(
            f"{path} is no bench: it has neither {bench.journal.name} nor {bench.rig.name}. Make a bench "
            "there, or name the right folder."
        )
    _make_subfolders(bench)
    _check_writable(bench)
    return bench


def _is_folder(path: Path) -> bool:
    """Tell whether a folder is there; `Malformed` when it is a file."""
    try:
        mode = path.stat().st_mode
    except FileNotFoundError:
        return False
    except OSError as error:
        raise not_written(path, error) from error
    if not stat.S_ISDIR(mode):
        raise Malformed(f"{path} is a file, but a bench is a folder. Name a folder.")
    return True


def _is_bench(bench: Bench) -> bool:
    return any(path.is_file() for path in (bench.journal, bench.address, bench.rig))


def _entries(path: Path) -> list[Path]:
    try:
        return list(path.iterdir())
    except OSError as error:
        raise not_written(path, error) from error


def _is_bare_subfolder(entry: Path) -> bool:
    """Tell whether an earlier, interrupted attempt left this behind."""
    return entry.name in SUBFOLDERS and entry.is_dir() and not _entries(entry)


def _make_subfolders(bench: Bench) -> None:
    for name in SUBFOLDERS:
        folder = bench.folder / name
        try:
            folder.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise not_written(folder, error) from error


def _check_writable(bench: Bench) -> None:
    """Find out now whether the bench takes files; permission bits do not tell on every system."""
    trial = bench.folder / f".{uuid.uuid4().hex}.part"
    write_atomically(trial, b"")
    trial.unlink(missing_ok=True)
