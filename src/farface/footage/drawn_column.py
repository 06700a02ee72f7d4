"""Draw vapour columns: what a burst of too much power leaves below the face."""

import numpy as np
from numpy.typing import NDArray

from farface.footage.coordinates import pixel_of
from farface.footage.drawn_truth import FilmTruth
from farface.materials.bubble_life import radius_share


def column_share(truth: FilmTruth, number: int) -> NDArray[np.float32] | None:
    """Compute the share of each pixel that a frame's columns cover, shape (row, column); None without any.

    The length over its largest follows a bubble's radius over its life; the width is the same all along. The
    face is taken as level within a column's width, and the exposure as an instant, its middle.
    """
    scale = truth.scale
    time_s = number / scale.frame_hz + 0.5 * scale.exposure_s
    shown = [c for c in truth.columns if c.start_s < time_s < c.start_s + c.life_s]
    if not shown:
        return None
    rows, columns = np.mgrid[0 : truth.height_px, 0 : truth.width_px].astype(np.float32)
    cover = np.zeros_like(rows)
    for one in shown:
        share = float(radius_share(np.array([(time_s - one.start_s) / one.life_s]))[0])
        middle_px, face_px = pixel_of(scale, along_m=one.along_m, below_m=0.0)
        half_px = 0.5 * one.width_m / scale.pixel_m
        end_px = face_px + share * one.length_max_m / scale.pixel_m - half_px
        away = np.hypot(columns - middle_px, np.maximum(rows - end_px, 0.0))
        inside = np.clip(half_px - away + 0.5, 0.0, 1.0)
        cover = np.maximum(cover, np.where(end_px + half_px > face_px, inside, 0.0))
    return np.asarray(cover, dtype=np.float32)
