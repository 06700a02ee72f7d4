"""Read what a film cannot say of itself, as a person types it: rate, exposure, scale, face, glass."""

import math
import re
from dataclasses import dataclass
from itertools import islice
from typing import Final

import numpy as np

from farface.app.workbench import Workbench
from farface.files.film import Film
from farface.footage.face import find_face
from farface.kernel import Malformed, Missing, OutOfRange, parse_quantity
from farface.records import FilmScale

# The face does not move: these first frames are enough to find it.
FACE_FRAMES: Final = 200
_NUMBER: Final = r"\s*(-?\d+(?:\.\d+)?)\s*"
_OBJECT: Final = re.compile(rf"(.+)={_NUMBER}px\s*")
_MARKS: Final = re.compile(rf"(.+)={_NUMBER},{_NUMBER}to{_NUMBER},{_NUMBER}")
_SENSOR: Final = re.compile(rf"(.+)/{_NUMBER}")
_FACE: Final = re.compile(rf"{_NUMBER}(?:to{_NUMBER})?")


@dataclass(frozen=True, slots=True, kw_only=True)
class FilmTyped:
    """Hold what a film does not know of itself, as typed; the rig's camera fills in the rest.

    ``pixel`` is read by `pixel_m`, ``face`` by `face_line`; ``glass_below`` says that the picture is upside
    down.
    """

    frame_rate: str | None = None
    exposure: str | None = None
    pixel: str | None = None
    face: str | None = None
    glass_below: bool = False


def film_scale(work: Workbench, film: Film, typed: FilmTyped) -> FilmScale:
    """Join what was typed with the rig's camera; find the face in the first frames unless it was typed.

    Raises `Missing` for what neither tells, or a film without frames.
    """
    camera = work.rig.camera
    frame_hz = _value(
        typed.frame_rate, "Hz", "the true frame rate", None if camera is None else camera.frame_hz
    )
    exposure_s = _value(typed.exposure, "s", "the exposure", None if camera is None else camera.exposure_s)
    if typed.pixel is not None:
        scale_m = pixel_m(typed.pixel)
    else:
        scale_m = _value(None, "m", "the size of a pixel", None if camera is None else camera.pixel_m)
    first = list(islice(film.frames(), FACE_FRAMES))
    if not first:
        raise Missing(f"{film.path.name} has no frame that can be read. Copy it again from the camera.")
    if typed.face is not None:
        row_px, slope = face_line(typed.face, width_px=first[0].shape[1])
    else:
        face = find_face(np.stack(first))
        row_px, slope = face.row_px, face.slope
    return FilmScale(
        frame_hz=frame_hz, exposure_s=exposure_s, pixel_m=scale_m, face_row_px=row_px, face_slope=slope
    )


def pixel_m(text: str) -> float:
    """Read the size of a pixel on the object.

    As a length, "10 um"; from a known object, "2 mm = 198.5 px"; from two marked points, column and row,
    "2 mm = 100,50 to 298,52"; from the sensor's own pixel over the magnification, "20 um / 2".
    """
    what = "the size of a pixel"
    if match := _MARKS.fullmatch(text):
        left, top, right, bottom = map(float, match.groups()[1:])
        length, count = match[1], math.hypot(right - left, bottom - top)
    elif match := _OBJECT.fullmatch(text) or _SENSOR.fullmatch(text):
        length, count = match[1], float(match[2])
    else:
        length, count = text, 1.0
    if count <= 0.0:
        raise OutOfRange(f'{what} is "{text}", which divides by {count:g}. Mark two points.')
    return _above_zero(parse_quantity(length, "m", what=what) / count, text, what)


def face_line(text: str, *, width_px: int) -> tuple[float, float]:
    """Read the face's row at column 0 and its slope: "60.5", or "60.5 to 63" from rim to rim."""
    match = _FACE.fullmatch(text)
    if match is None:
        raise Malformed(
            f'the far face is at "{text}", which is no row. Write its row in pixels, such as "60.5", or '
            'those at the left and the right rim, "60.5 to 63".'
        )
    left = float(match[1])
    right = left if match[2] is None else float(match[2])
    return left, (right - left) / max(1, width_px - 1)


def _value(text: str | None, dimension: str, what: str, known: float | None) -> float:
    if text is not None:
        return _above_zero(parse_quantity(text, dimension, what=what), text, what)
    if known is None:
        raise Missing(
            f"{what} is not known, and no film tells it. Give it, or describe the camera in rig.toml."
        )
    return known


def _above_zero(value: float, text: str, what: str) -> float:
    if value <= 0.0:
        raise OutOfRange(f'{what} is "{text}"; it must be above zero. Give a positive value.')
    return value
