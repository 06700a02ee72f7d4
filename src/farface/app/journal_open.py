"""Open the journal of a bench: in its own folder, or on the server that the bench shares with others."""

import logging
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from farface.files.bench_folder import Bench, is_bench, make_bench, open_bench
from farface.files.journal_address import read_address, write_address
from farface.journal import Journal, address_kept
from farface.kernel import Refused

_log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenJournal:
    """Hold a bench's places with its journal; rig and bath need not be readable for that."""

    places: Bench
    journal: Journal


@contextmanager
def open_journal(folder: Path, address: str | None = None, *, make: bool = False) -> Iterator[OpenJournal]:
    """Open the journal of the bench in a folder; an ``address`` that is given once is kept with the bench.

    With ``make`` a folder that is new or empty becomes a bench. Raises `Refused` where the bench's journal
    is kept elsewhere already.
    """
    places = make_bench(folder) if make and not is_bench(folder) else open_bench(folder)
    kept = read_address(places.address)
    if address is not None:
        _check_same(places, kept, address)
    place = address or kept or places.journal
    with Journal.open(place, files=places.runs / "files") as journal:
        _log.info("journal at %s, files in %s", journal.place.name, journal.place.files)
        if address is not None and kept is None:
            write_address(places.address, address_kept(address))
        yield OpenJournal(places=places, journal=journal)


def _check_same(places: Bench, kept: str | None, address: str) -> None:
    """Let one bench have one journal, so that its record is never split unnoticed."""
    if kept is not None and kept != address_kept(address):
        raise Refused(
            f"The journal of this bench is at {kept}, not at {address_kept(address)}. Leave --journal "
            f"out, or "
            "export the bench and import it into a new folder."
        )
    if kept is None and places.journal.exists():
        raise Refused(
            f"This bench has a journal of its own, {places.journal.name}. Export it with `farface journal "
            f"export`, "
            "and import it into a new folder with --journal."
        )
