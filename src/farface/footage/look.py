"""Learn how events look in a film, so that drawn ones can be made to look alike."""

from dataclasses import dataclass
from statistics import median
from typing import Final

import numpy as np
from numpy.typing import NDArray

from farface.footage.background import Background, learn_background
from farface.footage.components import find_patches
from farface.footage.disc_fit import FIRST_EDGE_PX
from farface.footage.discs import discs_of
from farface.materials.bubble_life import WATER_KG_PER_M3, WATER_OVERPRESSURE_PA, life_s
from farface.records import Bubble, FilmReading, FilmScale

# Where the film shows no event of a kind: a bubble that takes half of the bath's light, a flash that adds as
# much again.
UNSEEN_CONTRAST: Final = 0.5
UNSEEN_EXCESS: Final = 1.0
FRAMES_FITTED: Final = 3  # a life is fitted, not counted, from so many frames up


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """Hold how a film's events look; depths are those of its bubbles' centres, below the face.

    ``contrast_grey`` is how much darker than the bath a bubble is, ``excess_grey`` how much brighter a flash,
    ``edge_px`` the standard deviation of the blur at an edge, ``life_ratio`` a life over Rayleigh's for the
    same largest radius.
    """

    contrast_grey: float
    edge_px: float
    excess_grey: float
    life_ratio: float
    depths_m: tuple[float, ...]


def look_of(frames: NDArray[np.uint8], reading: FilmReading) -> Look:
    """Learn the look from a piece of the film, shape (time, row, column), and from the whole film's reading.

    Every value is a median over what was read, so faint events that were missed have no say in it. Without
    bubbles or flashes the look is assumed: `UNSEEN_CONTRAST` and `UNSEEN_EXCESS` of the bath's grey.
    """
    background = learn_background(frames, reading.scale)
    discs = discs_of(frames, background, find_patches(frames, background)[0], reading.scale)
    bath_grey = _bath_grey(background)
    pixel_m2 = reading.scale.pixel_m**2
    excess = [flash.brightness / (flash.area_m2 / pixel_m2) for flash in reading.flashes]
    return Look(
        contrast_grey=float(np.median(discs["contrast"])) if discs.size else UNSEEN_CONTRAST * bath_grey,
        edge_px=float(np.median(discs["edge"])) if discs.size else FIRST_EDGE_PX,
        excess_grey=median(excess) if excess else UNSEEN_EXCESS * bath_grey,
        life_ratio=_life_ratio(reading.bubbles),
        depths_m=tuple(bubble.below_m for bubble in reading.bubbles) or _any_depth(frames, reading.scale),
    )


def _bath_grey(background: Background) -> float:
    seen = background.grey[background.usable > 0]
    return float(np.median(seen if seen.size else background.grey))


def _life_ratio(bubbles: tuple[Bubble, ...]) -> float:
    """Compare fitted lives with Rayleigh's; 1 where none was fitted."""
    ratios = [
        bubble.life_s / life_s(bubble.radius_max_m, WATER_KG_PER_M3, WATER_OVERPRESSURE_PA)
        for bubble in bubbles
        if len(bubble.times_s) >= FRAMES_FITTED
    ]
    return median(ratios) if ratios else 1.0


def _any_depth(frames: NDArray[np.uint8], scale: FilmScale) -> tuple[float, ...]:
    """Spread depths evenly from the face to the lower rim of the picture."""
    deepest_px = max(1.0, frames.shape[1] - 1 - scale.face_row_px)
    return tuple((np.linspace(0.0, deepest_px, 16) * scale.pixel_m).tolist())
