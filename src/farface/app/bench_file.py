"""Write a file of the bench from a form: the old text stays in the journal, and no one's change is lost."""

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from farface.app.journal_open import open_journal
from farface.app.workbench import now_utc
from farface.files.atomic import write_atomically
from farface.files.bench_folder import Bench


@dataclass(frozen=True, slots=True, kw_only=True)
class Edited:
    """Say how a save ended: without ``errors`` it is done; ``clashed`` when the file changed meanwhile."""

    errors: Mapping[str, str]
    clashed: bool = False


def version_of(path: Path) -> str:
    """Give the version of a file as it lies on the disk now; a form carries it to and fro."""
    return hashlib.sha256(path.read_bytes()).hexdigest()[:16] if path.is_file() else ""


def clash(path: Path, version: str, typed: Mapping[str, str], now: Mapping[str, str]) -> Edited | None:
    """Show both values wherever a form differs from a file that was changed since the form was opened."""
    if version == version_of(path):
        return None
    errors = {
        name: f'In {path.name} this is now "{text}". Yours is kept here: save again to write it there.'
        for name, text in now.items()
        if typed.get(name, "") != text
    }
    whole = f"{path.name} was changed since you opened this page, here or elsewhere. Nothing was written yet."
    return Edited(errors={"": whole, **errors}, clashed=True)


def keep_and_write(places: Bench, path: Path, text: str, *, journal: str | None) -> None:
    """Keep the old text in the journal, then put the new one in its place."""
    with open_journal(places.folder, journal, make=True) as opened:
        if path.is_file():
            opened.journal.add_file(path, kind=path.stem, at_utc=now_utc())
        write_atomically(path, text.encode())
