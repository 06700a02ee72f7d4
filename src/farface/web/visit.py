"""Hold one visit to the bench: the request, the bench it is about, and the setting its address names."""

from collections.abc import Iterator, Mapping
from contextlib import AbstractContextManager, contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Final, Self
from urllib.parse import urlencode

from fastapi import Depends, Query, Request

from farface.app.settings import Typed, typed_of
from farface.app.workbench import Workbench, open_workbench

if TYPE_CHECKING:
    from farface.web.share import Share

# The parts of a setting that travel in the address from page to page, with what each is called.
SETTING: Final = {
    "energy": "pulse energy", "rate": "repetition rate", "pulses": "pulses per point",
    "pitch": "pitch", "passes": "passes", "focus": "focus below face",
}  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Name the bench that is served, and where its journal is kept if not in it."""

    folder: Path
    journal: str | None = None

    def has(self, name: str) -> bool:
        """Tell whether a file lies in the bench."""
        return (self.folder / name).is_file()

    @contextmanager
    def bench(self) -> Iterator[Workbench]:
        """Open the bench as it lies on the disk now; rig.toml and bath.toml are read anew each time."""
        with open_workbench(self.folder, journal=self.journal) as work:
            yield work


@dataclass(frozen=True, slots=True, kw_only=True)
class Visit:
    """Hold what a page needs; ``texts`` is the setting as typed, empty parts left out."""

    request: Request
    place: Place
    texts: Mapping[str, str]

    @classmethod
    def of(
        cls,
        request: Request,
        energy: Annotated[str, Query(description='pulse energy, such as "300 uJ"')] = "",
        rate: Annotated[str, Query(description='repetition rate, such as "40 kHz"')] = "",
        pulses: Annotated[str, Query(description="pulses per point")] = "",
        pitch: Annotated[str, Query(description='distance between points, such as "12 um"')] = "",
        passes: Annotated[str, Query(description="passes")] = "",
        focus: Annotated[str, Query(description='focus below the far face, such as "100 um"')] = "",
    ) -> Self:
        """Read the setting from the address; what is empty is left to the bench."""
        given = (energy, rate, pulses, pitch, passes, focus)
        texts = {name: text.strip() for name, text in zip(SETTING, given, strict=True) if text.strip()}
        return cls(request=request, place=request.app.state.place, texts=texts)

    def bench(self) -> AbstractContextManager[Workbench]:
        """Open the bench."""
        return self.place.bench()

    def with_texts(self, texts: Mapping[str, str]) -> Self:
        """Give the same visit with the setting that a form sent."""
        return replace(
            self, texts={name: texts[name].strip() for name in SETTING if texts.get(name, "").strip()}
        )

    @property
    def shared(self) -> bool:
        """Tell whether this visit came over the network, by the listener for phones."""
        return bool(getattr(self.request.app.state, "shared", False))

    @property
    def share(self) -> "Share | None":
        """Give the door for phones, where one was opened."""
        found: Share | None = getattr(self.request.app.state, "share", None)
        return found

    @property
    def typed(self) -> Typed:
        """Give the setting as the use cases take it; raises `Malformed` for a count that is none."""
        return typed_of(self.texts)

    def address(self, path: str, **more: str) -> str:
        """Give the address of a page with the present setting in it."""
        query = urlencode({**self.texts, **more})
        return f"{path}?{query}" if query else path


Here = Annotated[Visit, Depends(Visit.of)]
