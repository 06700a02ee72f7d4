"""Read many films at once, on this machine or a cluster; one that cannot be read holds up none."""

from collections import Counter
from collections.abc import Sequence
from pathlib import Path

from farface.app.answer import Answer
from farface.app.crew import Crew, open_crew
from farface.app.film_reading import FilmReader
from farface.app.film_scale import FilmTyped
from farface.app.filmed import Filmed, filmed
from farface.app.footage import keep_film, start_film
from farface.app.progress import Progress, quiet
from farface.app.settings import Typed
from farface.app.workbench import Workbench
from farface.kernel import FarfaceError, Malformed
from farface.report.content import Table


def take_films(
    work: Workbench,
    paths: Sequence[Path],
    camera: FilmTyped,
    typed: Typed,
    *,
    plate: str,
    cell: str | None = None,
    workers: str | None = None,
    tell: Progress = quiet,
) -> Answer:
    """Read films of one setting as `take_film` does, each with its own record; ``workers`` names a scheduler.

    Where the work is done changes nothing in what comes of it. A film that cannot be read is told and the
    others are kept; a single one, or all of them, raise what they raise.
    """
    shows = filmed(work, typed, plate=plate, cell=cell)
    _check_names(paths)
    refused: dict[str, FarfaceError] = {}
    answers: list[Answer] = []
    with open_crew(workers) as crew:
        readers = [_started(work, crew, path, camera, refused) for path in paths]
        for path, reader in zip(paths, readers, strict=True):
            try:
                if reader is not None:
                    answers.append(keep_film(work, crew, reader, shows, camera))
            except FarfaceError as error:
                refused[path.name] = error
            tell("reading films", (len(answers) + len(refused)) / len(paths))
    if not answers:
        raise next(iter(refused.values()))
    return answers[0] if len(paths) == 1 else _joined(answers, refused, shows)


def _started(
    work: Workbench, crew: Crew, path: Path, camera: FilmTyped, refused: dict[str, FarfaceError]
) -> FilmReader | None:
    try:
        return start_film(work, crew, path, camera)
    except FarfaceError as error:
        refused[path.name] = error
        return None


def _check_names(paths: Sequence[Path]) -> None:
    """Refuse films of one name: what is written of one would take the place of the other's."""
    twice = [name for name, count in Counter(path.stem for path in paths).items() if count > 1]
    if twice:
        raise Malformed(f"two films are called {twice[0]}, and so would be what is written. Rename one.")


def _joined(answers: Sequence[Answer], refused: dict[str, FarfaceError], shows: Filmed) -> Answer:
    """Tell of many films in one answer: a row for each, and what stands out of each."""
    rows = tuple(_row(answer) for answer in answers)
    return Answer(
        title=f"{len(answers)} films, at {shows.shown}",
        sentences=(
            *(f"{one.data['reading']['film']}: {said}" for one in answers for said in one.sentences[1:]),
            *(f"Not read: {error}" for error in refused.values()),
        ),
        tables=(
            Table(
                caption="What the films show",
                header=("film", "frames", "flashes", "bubbles", "flashes a second", "likeliest regime"),
                rows=rows,
            ),
        ),
        data={
            "films": [answer.data for answer in answers],
            "refused": {name: str(error) for name, error in refused.items()},
        },
        files=tuple(path for answer in answers for path in answer.files),
    )


def _row(answer: Answer) -> tuple[str, ...]:
    reading, rate = answer.data["reading"], answer.data["measures"]["flash_rate_hz"]
    odds = answer.data["regime_odds"]
    return (
        reading["film"],
        str(reading["frames"]),
        str(len(reading["flashes"])),
        str(len(reading["bubbles"])),
        f"{rate['value']:.0f} ({rate['low']:.0f} to {rate['high']:.0f})",
        max(odds, key=lambda name: odds[name]),
    )
