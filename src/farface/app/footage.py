"""Read a high-speed film into the journal: what it shows, and of which setting."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from itertools import islice
from pathlib import Path

import numpy as np
from pydantic import TypeAdapter

from farface.app.answer import Answer, plain
from farface.app.settings import Typed, setting_of, show_setting
from farface.app.workbench import Workbench
from farface.files.atomic import write_atomically
from farface.files.film import Film as FilmFile
from farface.files.film import open_film
from farface.footage.face import find_face
from farface.footage.measures import FootageMeasures, measure_footage
from farface.footage.read import read_footage
from farface.journal import Record
from farface.kernel import Missing, OutOfRange, parse_quantity, show_quantity
from farface.learn.film import Film
from farface.records import FilmReading, FilmScale
from farface.report.contact_sheet import contact_sheet_png, sheet_frames
from farface.report.content import Picture, Table

# The face does not move: these first frames are enough to find it.
FACE_FRAMES = 200
_FILM = TypeAdapter(Film)


@dataclass(frozen=True, slots=True, kw_only=True)
class FilmTyped:
    """Hold what a film does not know of itself, as typed; the rig's camera fills in the rest."""

    frame_rate: str | None = None
    exposure: str | None = None
    pixel: str | None = None


def take_film(work: Workbench, path: Path, camera: FilmTyped, typed: Typed, *, plate: str) -> Answer:
    """Read a film, draw its contact sheet, and keep both with the plate and the setting that it shows."""
    setting = setting_of(work.rig, typed)
    film = open_film(path)
    reading = read_footage(film.frames(), _scale(work, film, camera), path.name)
    if film.stopped is not None and reading.stopped is None:
        reading = replace(reading, stopped=film.stopped)
    measures = measure_footage(reading, rate_hz=setting.rate_hz)
    sheet = work.places.reports / f"{path.stem}-contact-sheet.png"
    png = contact_sheet_png(reading, _samples(film, reading), invented=work.invented)
    write_atomically(sheet, png)
    answer = Answer(
        title=f"Film {path.name}, at {show_setting(setting)}",
        sentences=(
            f"{reading.frames} frames, {show_quantity(reading.duration_s, 's')}: "
            f"{len(reading.flashes)} flashes, {len(reading.bubbles)} bubbles.",
            *measures.warnings,
        ),
        tables=(
            Table(caption="What the film shows", header=("what", "value"), rows=_rows(reading, measures)),
        ),
        pictures=(
            Picture(caption="The biggest bubble, and all that the film shows.", png=png, alt="contact sheet"),
        ),
        data={
            "plate": plate,
            "setting": plain(setting),
            "reading": plain(reading),
            "measures": plain(measures),
        },
        files=(sheet,),
    )
    work.publish("footage", answer, inputs=(work.keep(path, kind="film"),))
    return answer


def known_films(records: Iterable[Record]) -> tuple[Film, ...]:
    """Return every film's last reading in records of the journal with the plate and the setting it shows."""
    latest = {data["reading"]["film"]: data for data in (r.body["data"] for r in records)}
    return tuple(_FILM.validate_python(data) for data in latest.values())


def _scale(work: Workbench, film: FilmFile, typed: FilmTyped) -> FilmScale:
    """Join what was typed with the rig's camera, and find the face in the first frames."""
    camera = work.rig.camera
    known = (
        {}
        if camera is None
        else {"frame": camera.frame_hz, "exposure": camera.exposure_s, "pixel": camera.pixel_m}
    )
    given = (
        ("frame", typed.frame_rate, "Hz", "the true frame rate"),
        ("exposure", typed.exposure, "s", "the exposure"),
        ("pixel", typed.pixel, "m", "the size of a pixel"),
    )
    for key, text, dimension, what in given:
        if text is not None:
            known[key] = parse_quantity(text, dimension, what=what)
        if key not in known:
            raise Missing(
                f"{what} is not known, and no film tells it. Give it, or describe the camera in rig.toml."
            )
        if known[key] <= 0.0:
            raise OutOfRange(f'{what} is "{text}"; it must be above zero. Give a positive value.')
    first = list(islice(film.frames(), FACE_FRAMES))
    if not first:
        raise Missing(f"{film.path.name} has no frame that can be read. Copy it again from the camera.")
    face = find_face(np.stack(first))
    return FilmScale(
        frame_hz=known["frame"], exposure_s=known["exposure"], pixel_m=known["pixel"],
        face_row_px=face.row_px, face_slope=face.slope,
    )  # fmt: skip


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
