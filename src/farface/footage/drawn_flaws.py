"""Draw what spoils a film: light that drifts and flickers, dirt that stays, pixels that are stuck."""

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True, slots=True, kw_only=True)
class Speck:
    """Hold a round speck of dirt on the window, which takes ``lost_share`` of the light in every frame."""

    column_px: float
    row_px: float
    radius_px: float
    lost_share: float = 0.7


@dataclass(frozen=True, slots=True, kw_only=True)
class StuckPixel:
    """Hold a pixel that shows one grey level whatever falls on it."""

    column: int
    row: int
    level: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Flaws:
    """Hold the flaws of a drawn film; by default it has none.

    ``drift_share`` is the light's change from the first frame to the last, ``tilt_share`` the same at the
    right rim alone, falling to none at the left one, ``flicker_share`` the amplitude of the lamp's sine.
    """

    drift_share: float = 0.0
    tilt_share: float = 0.0
    flicker_share: float = 0.0
    flicker_hz: float = 100.0
    dirt: tuple[Speck, ...] = ()
    stuck: tuple[StuckPixel, ...] = ()


FLAWLESS: Final = Flaws()


def lamp_share(flaws: Flaws, *, time_s: float, film_s: float, width_px: int) -> NDArray[np.float32]:
    """Compute the lamp's light over that of the first instant, shape (column,)."""
    way = time_s / film_s
    across = np.linspace(0.0, 1.0, width_px)
    sine = 1.0 + flaws.flicker_share * math.sin(2.0 * math.pi * flaws.flicker_hz * time_s)
    drift = 1.0 + flaws.drift_share * way + flaws.tilt_share * way * across
    return np.asarray(sine * drift, dtype=np.float32)


def dirt_share(flaws: Flaws, *, shape: tuple[int, int]) -> NDArray[np.float32]:
    """Compute the share of light that dirt lets through, shape (row, column); specks have a soft rim."""
    rows, columns = np.mgrid[0 : shape[0], 0 : shape[1]]
    through = np.ones(shape, dtype=np.float32)
    for speck in flaws.dirt:
        inside = speck.radius_px - np.hypot(columns - speck.column_px, rows - speck.row_px)
        through *= (1.0 - speck.lost_share * np.clip(0.5 * inside + 0.5, 0.0, 1.0)).astype(np.float32)
    return through


def stick(frame: NDArray[np.uint8], flaws: Flaws) -> None:
    """Set the stuck pixels of a frame, in place."""
    for pixel in flaws.stuck:
        frame[pixel.row, pixel.column] = pixel.level
