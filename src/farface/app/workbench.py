"""An open bench: its folder, journal, rig and bath, with the clock and the seed that models never see."""

import logging
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

import numpy as np

from farface.app.answer import Answer, Json, plain
from farface.app.journal_open import open_journal
from farface.etch.bench import EtchBench, etch_bench
from farface.files.bath_file import read_bath
from farface.files.bench_folder import Bench
from farface.files.rig_file import read_rig
from farface.journal import Input, Journal, Record
from farface.kernel import Malformed
from farface.records import Bath, Rig
from farface.report.content import Picture

_log = logging.getLogger(__name__)
# Every random draw of a bench starts from this unless the person gives another; it is kept with each record.
DEFAULT_SEED: Final = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Correction:
    """Name the record that a new one corrects, and say why."""

    corrects: str
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Workbench:
    """Hold everything that a use case needs of one bench; ``texts`` are rig.toml and bath.toml as read."""

    places: Bench
    journal: Journal
    rig: Rig
    bath: Bath
    seed: int
    texts: tuple[bytes, bytes]

    @property
    def invented(self) -> bool:
        """Tell whether anything here is invented data."""
        return self.rig.invented or self.bath.invented

    def rng(self) -> np.random.Generator:
        """Return a fresh generator at the bench's seed."""
        return np.random.default_rng(self.seed)

    def etch(self) -> EtchBench:
        """Return the bench as the etching model sees it."""
        return etch_bench(self.rig, self.bath)

    def publish(
        self,
        kind: str,
        answer: Answer,
        *,
        inputs: Sequence[Input] = (),
        request: Mapping[str, Json] | None = None,
        correction: Correction | None = None,
    ) -> Record:
        """Write an answer into the journal as it was told, resting on rig and bath as they were read.

        The ``request`` is what was asked for: with inputs and seed it lets the same be computed again.
        """
        pictures = [self._kept(picture) for picture in answer.pictures]
        body = {
            "sentences": answer.sentences, "tables": answer.tables, "data": answer.data,
            "pictures": [kept for kept, _ in pictures],
        }  # fmt: skip
        if request is not None:
            body["request"] = dict(request)
        settings = tuple(
            self.keep(text, kind=kind, name=f"{kind}.toml")
            for kind, text in zip(("rig", "bath"), self.texts, strict=True)
        )
        old = None if correction is None else self.journal.meant(correction.corrects)
        drawn = [item for _, items in pictures for item in items]
        record = self.journal.add(
            kind=kind, title=answer.title, body=plain(body), at_utc=now_utc(), seed=self.seed,
            inputs=(*settings, *drawn, *inputs),
            supersedes=None if old is None else old.id, reason="" if correction is None else correction.why,
        )  # fmt: skip
        _log.info("wrote record %d: %s", record.number, kind)
        return record

    def keep(self, source: Path | bytes, *, kind: str, name: str = "") -> Input:
        """Keep a copy of a file in the journal and return it as an input of that kind."""
        stored = self.journal.add_file(source, kind=kind, at_utc=now_utc(), name=name)
        return Input(role=kind, file=stored.sha256)

    def _kept(self, picture: Picture) -> tuple[dict[str, str | None], list[Input]]:
        """Keep a picture's drawings as files; return what finds them again, and the inputs."""
        found: dict[str, str | None] = {"caption": picture.caption, "alt": picture.alt}
        inputs = []
        for part, end in (("svg", "svg"), ("narrow_svg", "svg"), ("png", "png")):
            drawn = getattr(picture, part)
            content = drawn.encode() if isinstance(drawn, str) else drawn
            item = None if content is None else self.keep(content, kind="picture", name=f"picture.{end}")
            found[part] = None if item is None else item.file
            inputs += [] if item is None else [item]
        return found, inputs


@contextmanager
def open_workbench(
    folder: Path, *, seed: int = DEFAULT_SEED, journal: str | None = None
) -> Iterator[Workbench]:
    """Open the bench in a folder; rig and bath are read and checked, the journal is made or migrated.

    ``journal`` is the address of a journal that is kept elsewhere.
    """
    with open_journal(folder, journal) as opened:
        places = opened.places
        before = _texts(places)
        rig, bath = read_rig(places.rig), read_bath(places.bath)
        _log.info("read %s and %s; seed %d", places.rig, places.bath, seed)
        if _texts(places) != before:
            raise Malformed("rig.toml or bath.toml was changed while it was read. Run the command again.")
        yield Workbench(places=places, journal=opened.journal, rig=rig, bath=bath, seed=seed, texts=before)


def _texts(places: Bench) -> tuple[bytes, bytes]:
    """Read rig and bath as they lie on the disk; the reader that follows names what is missing."""
    rig, bath = (path.read_bytes() if path.is_file() else b"" for path in (places.rig, places.bath))
    return rig, bath


def now_utc() -> str:
    """Return the time in UTC to the second, ISO 8601."""
    return datetime.now(UTC).isoformat(timespec="seconds")
