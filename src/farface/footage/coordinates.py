"""Turn pixels into distances along the far face and below it, and back."""

import math
from dataclasses import dataclass

from farface.kernel import OutOfRange
from farface.records import FilmScale


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Hold a place in the plate's own coordinates: along the face from column 0, and below the face."""

    along_m: float
    below_m: float


def place_of(scale: FilmScale, *, column_px: float, row_px: float) -> Place:
    """Turn a pixel into a `Place`; pixel centres lie at whole numbers, and below the face is positive."""
    cosine = 1.0 / math.hypot(1.0, scale.face_slope)
    down_px = row_px - scale.face_row_px
    return Place(
        along_m=scale.pixel_m * cosine * (column_px + scale.face_slope * down_px),
        below_m=scale.pixel_m * cosine * (down_px - scale.face_slope * column_px),
    )


def pixel_of(scale: FilmScale, *, along_m: float, below_m: float) -> tuple[float, float]:
    """Turn a place into a pixel (column, row); the inverse of `place_of`."""
    per_px = scale.pixel_m * math.hypot(1.0, scale.face_slope)
    column_px = (along_m - scale.face_slope * below_m) / per_px
    row_px = scale.face_row_px + (below_m + scale.face_slope * along_m) / per_px
    return column_px, row_px


def check_scale(scale: FilmScale) -> None:
    """Raise `OutOfRange` where a film's scale is not that of any film."""
    if not (scale.frame_hz > 0.0 and scale.pixel_m > 0.0 and scale.exposure_s > 0.0):
        raise OutOfRange(
            f"the film's scale has frame rate {scale.frame_hz:g} Hz, exposure {scale.exposure_s:g} s and "
            f"pixel {scale.pixel_m:g} m, but each is above zero for any film. Give the camera's settings."
        )
    if scale.exposure_s * scale.frame_hz > 1.0 + 1e-9:
        raise OutOfRange(
            f"the exposure is {scale.exposure_s * 1e6:.3g} us, but at {scale.frame_hz:g} frames/s a frame "
            f"lasts {1e6 / scale.frame_hz:.3g} us. Give the true frame rate, not the one of playback."
        )
