"""Look at films: the list of them, and one with what was read off it, without recording anything."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray
from pydantic import TypeAdapter

from farface.app.answer import Answer, plain
from farface.app.film_frames import film_notes, film_path, frames_of
from farface.app.film_marks import film_marks, frame_at
from farface.app.job_book import JobBook
from farface.app.jobs import job_data
from farface.app.settings import show_setting
from farface.app.uploads import UPLOADS, room_bytes
from farface.app.workbench import Workbench
from farface.journal import Record
from farface.kernel import OutOfRange, show_quantity
from farface.learn.bubble_energy import bubble_energies
from farface.records import FilmReading, Setting
from farface.report.bubble_curve import curve_picture, misfit_m, opened_s
from farface.report.content import Picture, Table
from farface.report.film_spreads import found_picture, spreads_picture
from farface.report.film_timeline import timeline_picture

# So many of a film's bubbles are listed by name; any other is asked for by its number.
LISTED: Final = 24
_READING = TypeAdapter(FilmReading)
_SETTING = TypeAdapter(Setting)


def look_at_films(work: Workbench) -> Answer:
    """List the films of a bench, with what was read off each."""
    latest = _latest(work)
    films: list[dict[str, Any]] = []
    for path in sorted(work.places.films.iterdir()):
        if path.name.startswith(".") or path.suffix == ".toml":
            continue
        record = latest.get(path.name)
        films.append({
            "name": path.name, "size_bytes": path.stat().st_size,
            "ready": film_notes(path, frames_of(work.places, path.name)) is not None,
            "read": None if record is None else record.number,
            "says": "not read yet" if record is None else str(record.body["sentences"][0]),
        })  # fmt: skip
    count = sum(one["read"] is not None for one in films)
    first = (
        f"{len(films)} film{'' if len(films) == 1 else 's'}, {count} of them read."
        if films
        else "No film yet. Choose one below; a bench works without, it only learns more slowly."
    )
    rows = tuple((one["name"], show_size(one["size_bytes"]), one["says"]) for one in films)
    return Answer(
        title="Footage",
        sentences=(first,),
        tables=(Table(caption="Films of this bench", header=("film", "size", "what it shows"), rows=rows),),
        data={
            "invented": work.invented, "films": films, "room_bytes": room_bytes(work.places.folder, "films"),
            "endings": list(UPLOADS["films"].endings), "job": _job(work, None),
        },
    )  # fmt: skip


def look_at_film(work: Workbench, name: str, *, bubble: int | None = None) -> Answer:
    """Look at one film: its frames, what is typed of it, and its last reading with one bubble in detail."""
    path = film_path(work.places, name)
    notes = film_notes(path, frames_of(work.places, path.name))
    record = _latest(work).get(path.name)
    read = None if record is None else _Read.of(record)
    camera = work.rig.camera
    data: dict[str, Any] = {
        "invented": work.invented, "name": path.name, "size_bytes": path.stat().st_size, "frames": notes,
        "typed": _typed(work, record, notes), "job": _job(work, path.name), "read": None,
        "frame_hz": camera.frame_hz if camera else 1.0, "pixel_m": camera.pixel_m if camera else 1e-6,
    }  # fmt: skip
    if read is None:
        ended = [f"It is cut off: {notes['stopped']}."] if notes and notes["stopped"] else []
        return Answer(title=f"Film {name}", sentences=(*_unread_words(notes), *ended), data=data)
    chosen = read.chosen(bubble)
    data["read"] = read.data() | {
        "bubble": None if chosen is None else read.bubble(chosen), "files": read.files(work),
    }  # fmt: skip
    assert record is not None
    return Answer(
        title=f"Film {name}",
        sentences=tuple(record.body["sentences"]),
        tables=tuple(Table(**_table(table)) for table in record.body["tables"]),
        pictures=read.pictures(chosen, invented=work.invented),
        data=data,
    )


def marks_of(work: Workbench, name: str) -> NDArray[np.float32]:
    """List the marks of a film's last reading, as `film_marks` does; none where it was not read."""
    record = _latest(work).get(film_path(work.places, name).name)
    return np.zeros((0, 6), np.float32) if record is None else film_marks(_Read.of(record).reading)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Read:
    """Hold a film's last reading as the journal keeps it."""

    record: Record
    reading: FilmReading

    @classmethod
    def of(cls, record: Record) -> "_Read":
        return cls(record=record, reading=_READING.validate_python(record.body["data"]["reading"]))

    def chosen(self, asked: int | None) -> int | None:
        """Choose the bubble asked for, or else the largest. Raises `OutOfRange` for one that is not there."""
        bubbles = self.reading.bubbles
        if asked is not None and not 0 <= asked < len(bubbles):
            raise OutOfRange(f"There is no bubble {asked}; this film shows {len(bubbles)}, counted from 0.")
        if asked is None and bubbles:
            return max(range(len(bubbles)), key=lambda k: bubbles[k].radius_max_m)
        return asked

    def data(self) -> dict[str, Any]:
        """Give what a page shows of the reading, without every frame of every bubble."""
        told: dict[str, Any] = self.record.body["data"]
        bubbles = self.reading.bubbles
        largest = sorted(range(len(bubbles)), key=lambda k: -bubbles[k].radius_max_m)[:LISTED]
        return {
            "number": self.record.number, "at_utc": self.record.at_utc, "plate": told["plate"],
            "setting": told["setting"], "shown": show_setting(_SETTING.validate_python(told["setting"])),
            "scale": plain(self.reading.scale), "duration_s": self.reading.duration_s,
            "frames": self.reading.frames, "stopped": self.reading.stopped,
            "bubbles": len(bubbles), "flashes": len(self.reading.flashes),
            "regime_odds": told["regime_odds"], "missed": told["missed"],
            "largest": [self._line(k) for k in largest],
        }  # fmt: skip

    def _line(self, number: int) -> dict[str, Any]:
        one = self.reading.bubbles[number]
        return {
            "number": number, "first_s": one.first_s, "life_s": one.life_s, "below_m": one.below_m,
            "radius_max_m": one.radius_max_m, "frame": frame_at(self.reading, one.first_s),
            "shown": (
                f"{1e3 * one.first_s:.3f} ms", show_quantity(one.radius_max_m, "m"),
                show_quantity(one.life_s, "s"), show_quantity(one.below_m, "m"),
            ),
        }  # fmt: skip

    def bubble(self, number: int) -> dict[str, Any]:
        """Tell one bubble in full: its radius frame by frame, its fit, and its energy by size and by life."""
        one, scale = self.reading.bubbles[number], self.reading.scale
        energy = bubble_energies((one,))[0]
        told: dict[str, Any] = plain(one) | plain(energy)
        return told | self._line(number) | {
            "opened_s": opened_s(one, scale), "misfit_m": misfit_m(one, scale),
            "rows": [
                ("largest radius", show_quantity(one.radius_max_m, "m")),
                ("life", show_quantity(one.life_s, "s")),
                ("below the face", show_quantity(one.below_m, "m")),
                ("energy by its size", show_quantity(energy.energy_j, "J")),
                ("energy by its life", show_quantity(energy.energy_from_life_j, "J")),
            ],
        }  # fmt: skip

    def files(self, work: Workbench) -> dict[str, str]:
        """Name the tables of this reading that the journal keeps, by their SHA-256."""
        kept = [one.file for one in self.record.inputs if one.role == "events" and one.file]
        return {sha256: work.journal.file(sha256).name for sha256 in kept}

    def pictures(self, chosen: int | None, *, invented: bool) -> tuple[Picture, ...]:
        """Draw timeline, the chosen bubble's curve, the spreads, and what the film can show."""
        drawn = [timeline_picture(self.reading, invented=invented, chosen=chosen)]
        if chosen is not None:
            drawn.append(
                curve_picture(self.reading.bubbles[chosen], chosen, self.reading.scale, invented=invented)
            )
        spreads = spreads_picture(self.reading, invented=invented)
        drawn += [] if spreads is None else [spreads]
        missed = self.record.body["data"]["missed"]
        if missed and missed["bubbles"]:
            found = [
                (one["radius_m"], one["share"]["value"], one["share"]["low"], one["share"]["high"])
                for one in missed["bubbles"]
            ]
            smallest = missed["smallest_bubble_m"]
            drawn.append(found_picture(found, smallest, self.reading.film, invented=invented))
        return tuple(drawn)


def sheet_of(work: Workbench, name: str) -> bytes | None:
    """Read the contact sheet of a film's last reading, as the journal keeps it."""
    record = _latest(work).get(film_path(work.places, name).name)
    kept = [] if record is None else [one["png"] for one in record.body["pictures"] if one["png"]]
    return work.journal.content(kept[0]) if kept else None


def _latest(work: Workbench) -> dict[str, Record]:
    """Give the last reading of each film that stands."""
    return {one.body["data"]["reading"]["film"]: one for one in work.journal.standing("footage")}


def _job(work: Workbench, name: str | None) -> dict[str, Any] | None:
    """Give the last job about a film, or about any, unless it is over and done with."""
    for kind in ("frames", "footage"):
        for job in JobBook(work.places.folder).last(kind=kind):
            if name is None or job.request.get("film") == name:
                if job.state != "done":
                    return job_data(job)
                break
    return None


def _typed(work: Workbench, record: Record | None, notes: dict[str, Any] | None) -> dict[str, Any]:
    """Give the texts of the form: those of the last reading, else the rig's camera and the face found."""
    camera = work.rig.camera
    face = (notes or {}).get("face_px") or ("", "")
    texts: dict[str, Any] = {
        "frame_rate": "" if camera is None else show_quantity(camera.frame_hz, "Hz", digits=6),
        "exposure": "" if camera is None else show_quantity(camera.exposure_s, "s", digits=6),
        "pixel": "" if camera is None else show_quantity(camera.pixel_m, "m", digits=6),
        "face_left": f"{face[0]}", "face_right": f"{face[1]}", "glass_below": False, "plate": "",
        "energy": "", "rate": "", "pulses": "", "pitch": "", "passes": "",
    }  # fmt: skip
    if record is None:
        return texts
    texts["plate"] = record.body["data"]["plate"]
    asked = record.body.get("request") or {"camera": {}, "typed": {}}
    given = {key: value for key, value in {**asked["camera"], **asked["typed"]}.items() if value is not None}
    texts |= {key: value for key, value in given.items() if key in texts}
    if "face" in given:
        left, _, right = str(given["face"]).partition(" to ")
        texts |= {"face_left": left.strip(), "face_right": (right or left).strip()}
    return texts


def _unread_words(notes: dict[str, Any] | None) -> Sequence[str]:
    if notes is None:
        return ("Its frames are not ready to be looked at yet.",)
    return (f"{notes['frames']} frames, not read yet. Check scale and face below, then read it.",)


def _table(told: Any) -> dict[str, Any]:
    return {
        "header": tuple(told["header"]), "caption": told["caption"],
        "rows": tuple(tuple(row) for row in told["rows"]),
    }  # fmt: skip


def show_size(size_bytes: float) -> str:
    """Write the size of a file as a person reads it."""
    for unit, factor in (("GB", 1e9), ("MB", 1e6)):
        if size_bytes >= factor:
            return f"{size_bytes / factor:.3g} {unit}"
    return f"{max(1.0, size_bytes / 1e3):.3g} kB"
