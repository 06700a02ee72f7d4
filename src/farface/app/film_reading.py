"""Read films span by span, by whoever does the work: one function for all, so one result."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import islice
from pathlib import Path

import numpy as np

from farface.app.crew import Crew, Promised
from farface.files.film import Film, open_film
from farface.files.film_source import Span
from farface.footage.background import Background
from farface.footage.coordinates import check_scale
from farface.footage.events import FilmEvents
from farface.footage.read import join_events
from farface.footage.see import LEARNED_FRAMES, Seen, learn_empty, see_stretch, stretch_frames, stretches
from farface.kernel import Missing
from farface.records import FilmScale


@dataclass(frozen=True, slots=True, kw_only=True)
class FilmAt:
    """Say where a film lies, which way up; workers elsewhere must find it under the same path."""

    path: Path
    upside_down: bool

    def open(self) -> Film:
        """Open the film anew. Raises `Missing` where it is not to be found."""
        if not self.path.exists():
            raise Missing(
                f"a worker finds no film {self.path.name} in {self.path.parent}. Keep films where every "
                "worker sees them under the same path as this machine does."
            )
        film = open_film(self.path)
        film.upside_down = self.upside_down
        return film


@dataclass(frozen=True, slots=True, kw_only=True)
class SpanSeen:
    """Hold what the stretches of one span show; ``stopped`` says why it could not be read to its end."""

    parts: tuple[Seen, ...]
    stopped: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class FilmReader:
    """Hold a film that is being read: one promise a span, in order."""

    film: Film
    scale: FilmScale
    spans: Sequence[Promised[SpanSeen]]

    @property
    def at(self) -> FilmAt:
        """Say where the film lies."""
        return _at(self.film)

    def events(self) -> FilmEvents:
        """Wait for the spans and join what they show, as far as the film could be read."""
        ended: list[str] = []
        events = join_events(self._parts(ended), self.scale, self.film.path.name)
        for span in self.spans:
            span.cancel()  # of use for those after the end, if it came early
        reading = events.reading
        stopped = reading.stopped or next(iter(ended), None) or self.film.fewer_than_promised(reading.frames)
        return replace(events, reading=replace(reading, stopped=stopped))

    def _parts(self, ended: list[str]) -> Iterator[Seen]:
        for span in self.spans:
            seen = span.result()
            yield from seen.parts
            if seen.stopped is not None:
                ended.append(seen.stopped)
                return


def start_reading(crew: Crew, film: Film, scale: FilmScale) -> FilmReader:
    """Have a film read by a crew. Raises `OutOfRange` for an impossible scale."""
    check_scale(scale)
    at = _at(film)
    empty = crew.submit(learn_from_film, at, scale)
    spans = [crew.submit(see_span, at, span, scale, empty) for span in film.spans()]
    return FilmReader(film=film, scale=scale, spans=spans)


def _at(film: Film) -> FilmAt:
    return FilmAt(path=film.path.absolute(), upside_down=film.upside_down)


def learn_from_film(at: FilmAt, scale: FilmScale) -> Background:
    """Learn a film's empty frame from its first frames."""
    film = at.open()
    count = min(LEARNED_FRAMES, stretch_frames(film.width_px * film.height_px))
    return learn_empty(np.stack(list(islice(film.frames(), count))), scale)


def see_span(at: FilmAt, span: Span, scale: FilmScale, empty: Background) -> SpanSeen:
    """See all stretches of one span of a film, against the film's empty frame."""
    film = at.open()
    seen = [see_stretch(part, empty, scale) for part in stretches(film.frames(span), at.path.name)]
    return SpanSeen(parts=tuple(seen), stopped=film.stopped)
