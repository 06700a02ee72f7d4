"""Read a high-speed film into the journal: what it shows, and of which setting."""

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import islice
from pathlib import Path

import numpy as np
from pydantic import TypeAdapter

from farface.app.answer import Answer, Json, plain
from farface.app.crew import Crew, open_crew
from farface.app.film_reading import FilmReader, start_reading
from farface.app.film_scale import FilmTyped, film_scale
from farface.app.filmed import Filmed, filmed
from farface.app.footage_beside import beside_sentences, energy_rows, regime_table
from farface.app.footage_missed import Missed, missed_rows, what_is_missed
from farface.app.settings import Typed
from farface.app.workbench import Workbench
from farface.files.atomic import write_atomically
from farface.files.event_tables import write_event_tables
from farface.files.film import Film as FilmFile
from farface.files.film import open_film
from farface.files.film_write import write_film
from farface.files.raw_layout import layout_of
from farface.footage.annotate import annotated
from farface.footage.events import FilmEvents
from farface.footage.measures import FootageMeasures, measure_footage
from farface.journal import Input, Record
from farface.kernel import show_quantity
from farface.learn.bubble_energy import BubbleEnergy, bubble_energies
from farface.learn.film import Film, point_s
from farface.learn.regime import regime_odds, tally
from farface.records import FilmReading, Setting
from farface.report.contact_sheet import contact_sheet_png, sheet_frames
from farface.report.content import Picture, Table

MARKED_FRAMES = 1500  # of the film with what was read drawn on it
PLAYBACK_HZ = 25.0
_FILM = TypeAdapter(Film)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Read:
    """Hold all that was made of one film."""

    events: FilmEvents
    measures: FootageMeasures
    energies: tuple[BubbleEnergy, ...]
    missed: Missed | None
    odds: dict[str, float]


def take_film(
    work: Workbench, path: Path, camera: FilmTyped, typed: Typed, *, plate: str, cell: str | None = None
) -> Answer:
    """Read a film on this machine, and write and keep what it shows with plate and setting."""
    shows = filmed(work, typed, plate=plate, cell=cell)
    with open_crew(None) as crew:
        return keep_film(work, crew, start_film(work, crew, path, camera), shows, camera)


def start_film(work: Workbench, crew: Crew, path: Path, camera: FilmTyped) -> FilmReader:
    """Open a film, find its scale and its face, and have a crew read it."""
    film = open_film(path)
    film.upside_down = camera.glass_below
    return start_reading(crew, film, film_scale(work, film, camera))


def keep_film(work: Workbench, crew: Crew, reader: FilmReader, shows: Filmed, camera: FilmTyped) -> Answer:
    """Wait for a film's events; write sheet, tables and marked film; keep all with plate and setting."""
    film, read = reader.film, _measured(work, crew, reader, shows.setting)
    path, reading = film.path, read.events.reading
    sheet = work.places.reports / f"{path.stem}-contact-sheet.png"
    png = contact_sheet_png(reading, _samples(film, reading), invented=work.invented)
    write_atomically(sheet, png)
    tables = write_event_tables(work.places.reports, _name(work, path), read.events, read.energies)
    answer = Answer(
        title=f"Film {path.name}, at {shows.shown}",
        sentences=_sentences(film, read),
        tables=_tables(read),
        pictures=(
            Picture(caption="The biggest bubble, and all that the film shows.", png=png, alt="contact sheet"),
        ),
        data={
            "plate": shows.plate,
            "cell": shows.cell,
            "setting": plain(shows.setting),
            "reading": plain(reading),
            "measures": plain(read.measures),
            "missed": plain(read.missed),
            "regime_odds": read.odds,
        },
        files=(sheet, *tables, *_write_marked(work, film, reading)),
    )
    kept = (work.keep(table, kind="events", name=table.name) for table in tables)
    coupon = () if shows.coupon is None else (shows.coupon,)
    inputs, names = _kept_film(work, path)
    asked = {"typed": plain(shows.typed), "plate": shows.plate, "cell": shows.cell}
    request = {"camera": plain(camera), **asked, **names}
    work.publish("footage", answer, inputs=(*coupon, *inputs, *kept), request=request)
    return answer


def _measured(work: Workbench, crew: Crew, reader: FilmReader, setting: Setting) -> _Read:
    """Draw from a film all that can be known without another."""
    events = reader.events()
    reading = events.reading
    return _Read(
        events=events,
        measures=measure_footage(reading, rate_hz=setting.rate_hz),
        energies=bubble_energies(reading.bubbles),
        missed=crew.submit(what_is_missed, reader.at, reading, work.rng()).result(),
        odds=regime_odds(tally(reading, point_s=point_s(work.etch(), setting))),
    )


def _sentences(film: FilmFile, read: _Read) -> tuple[str, ...]:
    reading = read.events.reading
    return (
        f"{reading.frames} frames, {show_quantity(reading.duration_s, 's')}: "
        f"{len(reading.flashes)} flashes, {len(reading.bubbles)} bubbles.",
        *beside_sentences(read.events),
        *film.notes,
        *read.measures.warnings,
    )


def _tables(read: _Read) -> tuple[Table, ...]:
    header = ("what", "value")
    rows = (*_rows(read.events.reading, read.measures), *energy_rows(read.energies))
    missed = () if read.missed is None else missed_rows(read.missed)
    return (
        Table(caption="What the film shows", header=header, rows=rows),
        *((Table(caption="What the film misses", header=header, rows=missed),) if missed else ()),
        regime_table(read.odds),
    )


def known_films(records: Iterable[Record]) -> tuple[Film, ...]:
    """Return every film's last reading in records of the journal with the plate and the setting it shows."""
    latest = {data["reading"]["film"]: data for data in (r.body["data"] for r in records)}
    return tuple(_FILM.validate_python(data) for data in latest.values())


def _write_marked(work: Workbench, film: FilmFile, reading: FilmReading) -> tuple[Path, ...]:
    """Write the film's beginning with what was read drawn on it; nothing where no frame was read."""
    marked = work.places.reports / f"{_name(work, film.path)}-marked.mp4"
    source = (frame[: frame.shape[0] // 2 * 2, : frame.shape[1] // 2 * 2] for frame in film.frames())
    first = islice(annotated(source, reading), MARKED_FRAMES)
    if reading.frames == 0:
        return ()
    write_film(marked, first, PLAYBACK_HZ, quality="near")
    return (marked,)


def _name(work: Workbench, path: Path) -> str:
    """Name what is written of a film; files cannot say inside that their data are invented."""
    return f"{path.stem}-invented-data" if work.invented else path.stem


def _kept_film(work: Workbench, path: Path) -> tuple[tuple[Input, ...], dict[str, Json]]:
    """Keep a copy of the film, or of every picture in its folder, and say how they are called."""
    paths = sorted(path.glob("*.png")) if path.is_dir() else [path]
    layouts = [layout_of(path)] if path.suffix.lower() == ".raw" else []
    names = {"film": [one.name for one in paths], "layout": [one.name for one in layouts]}
    folder = path.name if path.is_dir() else None
    kept = [work.keep(one, kind="film") for one in paths] + [work.keep(one, kind="layout") for one in layouts]
    return tuple(kept), {"folder": folder, **names}


def _samples(film: FilmFile, reading: FilmReading) -> dict[int, np.ndarray]:
    wanted = sheet_frames(reading)
    last = max(wanted, default=0)
    return {i: frame for i, frame in enumerate(islice(film.frames(), last + 1)) if i in wanted}


def _rows(reading: FilmReading, measures: FootageMeasures) -> tuple[tuple[str, str], ...]:
    rate = measures.flash_rate_hz
    rows = [
        (
            "flashes a second",
            f"{rate.value:.0f} (95 % interval {rate.low:.0f} to {rate.high:.0f}; only those the shutter saw)",
        ),
        ("far face at", f"row {reading.scale.face_row_px:.1f} px, slope {reading.scale.face_slope:.4f}"),
    ]
    if reading.bubbles:
        rows += [
            ("bubble life (median)", show_quantity(measures.life_s[2], "s")),
            ("largest radius seen (median)", show_quantity(measures.radius_seen_m[2], "m")),
            ("depth of bubbles below the face (median)", show_quantity(measures.below_m[2], "m")),
        ]
    return tuple(rows)
