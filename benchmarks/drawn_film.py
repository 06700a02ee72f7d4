"""Draw the film that the reading of footage is timed on."""

import numpy as np
from numpy.typing import NDArray

from farface.footage.drawn import FilmTruth, TrueBubble, draw_film
from farface.records import FilmScale

SCALE = FilmScale(frame_hz=30_000.0, exposure_s=8e-6, pixel_m=20e-6, face_row_px=40.3, face_slope=0.01)
FRAMES = 512


def film() -> NDArray[np.uint8]:
    """Draw 320 x 192 px, a bubble of 7 to 22 px radius opening every 4.5 frames, noise of 3 grey levels."""
    rng = np.random.default_rng(5)
    bubbles = tuple(
        TrueBubble(
            start_s=1.5e-4 * number + rng.uniform(0.0, 3e-5),
            along_m=rng.uniform(0.7e-3, 5.7e-3),
            below_m=rng.choice([0.0, 1e-3, 1.6e-3]),
            radius_max_m=rng.uniform(1.5e-4, 4.5e-4),
            life_s=rng.uniform(2.0, 6.0) / SCALE.frame_hz,
        )
        for number in range(110)
    )
    truth = FilmTruth(
        scale=SCALE, frames=FRAMES, width_px=320, height_px=192, bubbles=bubbles, noise_grey=3.0
    )
    return draw_film(truth, rng)
