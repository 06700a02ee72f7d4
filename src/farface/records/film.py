"""What was read off a film: flashes and bubbles in the plate's own coordinates."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class FilmScale:
    """Say what a film cannot say of itself: true frame rate, exposure, scale, and the line of the far face.

    The face is the line row = ``face_row_px`` + ``face_slope`` * column; the bath lies at larger rows.
    """

    frame_hz: float
    exposure_s: float
    pixel_m: float
    face_row_px: float
    face_slope: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Flash:
    """Hold one flash: when it was first lit, where (along the face, below it), how large and how bright."""

    time_s: float
    along_m: float
    below_m: float
    area_m2: float
    brightness: float
    frames_lit: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Bubble:
    """Hold one bubble: first seen, life, mean centre, largest radius, and its radius frame by frame."""

    first_s: float
    life_s: float
    along_m: float
    below_m: float
    radius_max_m: float
    times_s: tuple[float, ...]
    radii_m: tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class FilmReading:
    """Hold everything read off one film; ``stopped`` says why reading ended early, if it did."""

    film: str
    scale: FilmScale
    frames: int
    duration_s: float
    flashes: tuple[Flash, ...]
    bubbles: tuple[Bubble, ...]
    stopped: str | None = None
