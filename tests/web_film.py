"""A small drawn film with known truth, for tests of the pages."""

from pathlib import Path

import numpy as np

from farface.files.film_write import write_film
from farface.footage.drawn import FilmTruth, TrueBubble, TrueFlash, draw_film
from farface.records import FilmScale

# The demo rig's camera is as fast and as near.
SCALE = FilmScale(frame_hz=30_000.0, exposure_s=12e-6, pixel_m=10e-6, face_row_px=30.0)
TRUTH = FilmTruth(
    scale=SCALE,
    frames=120,
    width_px=160,
    height_px=96,
    bubbles=tuple(
        TrueBubble(start_s=(5 + 12 * k) / 3e4, along_m=(20 + 13 * k) * 1e-5, below_m=2.5e-4,
                   radius_max_m=1.4e-4, life_s=2e-4)
        for k in range(9)
    ),
    flashes=tuple(
        TrueFlash(time_s=(20 + 30 * k) / 3e4 + 4e-6, along_m=1e-3, below_m=2e-5, radius_m=4e-5)
        for k in range(3)
    ),
)  # fmt: skip


def drawn_film(path: Path) -> np.ndarray:
    """Write the film, and give its frames as they were drawn."""
    frames = draw_film(TRUTH, np.random.default_rng(1))
    write_film(path, frames, 25.0)
    return frames
