"""Add drawn bubbles and flashes to a person's own frames, to see which of them the reading finds again."""

import math
from typing import Final

import numpy as np
from numba import njit
from numpy.typing import NDArray

from farface.footage.coordinates import pixel_of
from farface.footage.drawn import TrueBubble, TrueFlash, true_life_s
from farface.materials.bubble_life import radius_share
from farface.records import FilmScale

SAMPLES: Final = 6  # instants in an exposure
REACH_EDGES: Final = 4.0  # a soft edge has faded out within so many of its widths


def add_bubble(
    frames: NDArray[np.uint8],
    scale: FilmScale,
    bubble: TrueBubble,
    *,
    contrast_grey: float,
    edge_px: float,
) -> None:
    """Darken frames, shape (time, row, column), in place where a bubble would, from its opening to its end.

    In each exposure the light lost is ``contrast_grey`` times the mean over it of Phi((R - d) / edge), with d
    the distance from the centre and Phi the normal distribution; the frames keep their own noise. Above the
    face nothing is changed. Leaves out that less light is less noisy.
    """
    column_px, row_px = pixel_of(scale, along_m=bubble.along_m, below_m=bubble.below_m)
    lasts_s = true_life_s(bubble)
    first = max(0, math.floor(bubble.start_s * scale.frame_hz - 1.0))
    last = min(len(frames) - 1, math.ceil((bubble.start_s + lasts_s) * scale.frame_hz))
    for number in range(first, last + 1):
        instants_s = number / scale.frame_hz + scale.exposure_s * (np.arange(SAMPLES) + 0.5) / SAMPLES
        radii_px = radius_share((instants_s - bubble.start_s) / lasts_s) * bubble.radius_max_m / scale.pixel_m
        if radii_px.max() > 0.0:
            face = (scale.face_row_px, scale.face_slope)
            _shade(frames[number], face, (column_px, row_px), radii_px, edge_px, -contrast_grey)


def add_flash(
    frames: NDArray[np.uint8],
    scale: FilmScale,
    flash: TrueFlash,
    *,
    excess_grey: float,
    edge_px: float,
) -> None:
    """Brighten, in place, the one frame of frames whose shutter is open at a flash's instant, if one is.

    Adds ``excess_grey`` times Phi((R - d) / edge), which white limits as it does in the camera.
    """
    number = math.floor(flash.time_s * scale.frame_hz)
    if not 0 <= number < len(frames) or flash.time_s - number / scale.frame_hz > scale.exposure_s:
        return
    centre = pixel_of(scale, along_m=flash.along_m, below_m=flash.below_m)
    radii_px = np.array([flash.radius_m / scale.pixel_m])
    _shade(frames[number], (-math.inf, 0.0), centre, radii_px, edge_px, excess_grey)


@njit(cache=True, nogil=True)
def _shade(
    frame: NDArray[np.uint8],
    face: tuple[float, float],
    centre: tuple[float, float],
    radii_px: NDArray[np.float64],
    edge: float,
    grey: float,
) -> None:
    """Add ``grey`` over a soft disc, as the mean of several radii, where it lies below the face."""
    height, width = frame.shape
    column, row = centre
    reach = radii_px.max() + REACH_EDGES * edge
    for i in range(max(0, int(row - reach)), min(height, int(row + reach) + 2)):
        for j in range(max(0, int(column - reach)), min(width, int(column + reach) + 2)):
            if i < face[0] + face[1] * j:
                continue
            distance = math.hypot(i - row, j - column)
            share = 0.0
            for radius in radii_px:
                if radius > 0.0:
                    round_px = radius - edge * edge / (2.0 * max(radius, edge))
                    share += 0.5 * math.erfc((distance - round_px) / (edge * math.sqrt(2.0)))
            value = frame[i, j] + grey * share / radii_px.size
            frame[i, j] = np.uint8(min(255.0, max(0.0, math.floor(value + 0.5))))
