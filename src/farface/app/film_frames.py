"""Make a film's frames ready to be looked at one by one, and find its face on the way."""

from itertools import islice
from pathlib import Path
from typing import Any, Final

import numpy as np

from farface.app.answer import Answer
from farface.app.film_scale import FACE_FRAMES
from farface.app.progress import Progress, quiet
from farface.files.bench_folder import Bench, open_bench
from farface.files.film import Film, open_film
from farface.files.frame_store import FrameStore
from farface.footage.face import find_face
from farface.kernel import FarfaceError, Missing

# Beside the bench's films, but none of them; it can be made again at any time.
STORE: Final = ".frames"
_TOLD_EVERY: Final = 50


def film_path(places: Bench, name: str) -> Path:
    """Find a film of the bench by its name alone. Raises `Missing` for anything else."""
    found = {one.name: one for one in places.films.iterdir() if not one.name.startswith(".")}
    if name not in found:
        raise Missing(f'There is no film "{name[:80]}" in this bench. Choose one of its list.')
    return found[name]


def frames_of(places: Bench, name: str) -> FrameStore:
    """Give the store of a film's frames, whether or not anything is in it yet."""
    return FrameStore(places.films / STORE / name)


def frame_jpeg(folder: Path, name: str, number: int) -> bytes:
    """Read one frame of a film as JPEG, counted from 0."""
    places = Bench(folder=folder)
    return frames_of(places, film_path(places, name).name).jpeg(number)


def film_notes(path: Path, store: FrameStore) -> dict[str, Any] | None:
    """Give what was found out about a film when its frames were made; None if it changed since."""
    notes = store.notes()
    return notes if notes is not None and notes["state"] == _state(path) else None


def make_frames(folder: Path, name: str, *, tell: Progress = quiet) -> Answer:
    """Write every frame that can be read as JPEG, and note where the film ends and where its face lies."""
    places = open_bench(folder)
    path = film_path(places, name)
    film, store = open_film(path), frames_of(places, name)
    count = 0
    for count in store.write(film.frames()):
        if count % _TOLD_EVERY == 0:
            tell(f"frame {count}", count / film.promised if film.promised else 0.0)
    if count == 0:
        raise Missing(f"{name} has no frame that can be read. Copy it again from the camera.")
    notes = {
        "state": _state(path), "width_px": film.width_px, "height_px": film.height_px, "frames": count,
        "playback_hz": film.playback_hz, "stopped": film.stopped, "notes": list(film.notes),
        **_face(film),
    }  # fmt: skip
    store.finish(notes)
    tell(f"frame {count}", 1.0)
    ended = () if film.stopped is None else (f"It is cut off: {film.stopped}. What could be read was kept.",)
    return Answer(title=f"Film {name}", sentences=(f"{count} frames can be looked at.", *ended), data=notes)


def _face(film: Film) -> dict[str, Any]:
    """Look for the face in the first frames, and say why where it was not found."""
    try:
        face = find_face(np.stack(list(islice(film.frames(), FACE_FRAMES))))
    except FarfaceError as error:
        return {"face_px": None, "face_says": str(error)}
    right_px = face.row_px + face.slope * (film.width_px - 1)
    return {"face_px": [round(face.row_px, 2), round(right_px, 2)], "face_says": ""}


def _state(path: Path) -> list[int]:
    """Give what changes when a film is replaced."""
    told = path.stat()
    return [told.st_size, told.st_mtime_ns]
