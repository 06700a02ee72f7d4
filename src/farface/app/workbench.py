"""An open bench: its folder, journal, rig and bath, with the clock and the seed that models never see."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

import numpy as np

from farface.app.answer import Answer, plain
from farface.etch.bench import EtchBench, etch_bench
from farface.files.bath_file import read_bath
from farface.files.bench_folder import Bench, open_bench
from farface.files.rig_file import read_rig
from farface.journal import Input, Journal, Record
from farface.records import Bath, Rig
from farface.report.content import Picture

# Every random draw of a bench starts from this unless the person gives another; it is kept with each record.
DEFAULT_SEED: Final = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Workbench:
    """Hold everything that a use case needs of one bench."""

    places: Bench
    journal: Journal
    rig: Rig
    bath: Bath
    seed: int

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

    def publish(self, kind: str, answer: Answer, *, inputs: Sequence[Input] = ()) -> Record:
        """Write an answer into the journal as it was told, resting on rig and bath as they are now."""
        pictures = [self._kept(picture) for picture in answer.pictures]
        body = {
            "sentences": answer.sentences, "tables": answer.tables, "data": answer.data,
            "pictures": [kept for kept, _ in pictures],
        }  # fmt: skip
        settings = (self.keep(self.places.rig, kind="rig"), self.keep(self.places.bath, kind="bath"))
        drawn = [item for _, items in pictures for item in items]
        return self.journal.add(
            kind=kind, title=answer.title, body=plain(body), at_utc=now_utc(), seed=self.seed,
            inputs=(*settings, *drawn, *inputs),
        )  # fmt: skip

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
def open_workbench(folder: Path, *, seed: int = DEFAULT_SEED) -> Iterator[Workbench]:
    """Open the bench in a folder; rig and bath are read and checked, the journal is made or migrated."""
    places = open_bench(folder)
    rig, bath = read_rig(places.rig), read_bath(places.bath)
    with Journal.open(places.journal) as journal:
        yield Workbench(places=places, journal=journal, rig=rig, bath=bath, seed=seed)


def now_utc() -> str:
    """Return the time in UTC to the second, ISO 8601."""
    return datetime.now(UTC).isoformat(timespec="seconds")
