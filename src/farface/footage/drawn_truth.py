"""Hold the truth about a drawn film: its scale, its events, its light and its flaws."""

from dataclasses import dataclass

from farface.footage.drawn_flaws import FLAWLESS, Flaws
from farface.materials.bubble_life import WATER_KG_PER_M3, WATER_OVERPRESSURE_PA, life_s
from farface.records import FilmScale


@dataclass(frozen=True, slots=True, kw_only=True)
class TrueBubble:
    """Hold a drawn bubble; without ``life_s`` it lives as long as Rayleigh's collapse in water says."""

    start_s: float
    along_m: float
    below_m: float
    radius_max_m: float
    life_s: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class TrueFlash:
    """Hold a drawn flash: an instant, seen only by a frame whose shutter is open then."""

    time_s: float
    along_m: float
    below_m: float
    radius_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class TrueColumn:
    """Hold a drawn vapour column: straight sides and a round end, growing down from the face and back."""

    start_s: float
    along_m: float
    width_m: float
    length_max_m: float
    life_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class FilmTruth:
    """Hold all there is to know of a drawn film: its scale and size, its events, its light and its flaws.

    Grey levels run from 0 to 255. ``noise_grey`` is the standard deviation of Gaussian noise in every
    pixel, ``blur_px`` that of the lens's Gaussian blur, ``vignetting`` the share of light lost in a corner,
    ``mirror_share`` how dark a bubble's mirror image in the glass is, over the bubble itself.
    """

    scale: FilmScale
    frames: int
    width_px: int
    height_px: int
    bubbles: tuple[TrueBubble, ...] = ()
    flashes: tuple[TrueFlash, ...] = ()
    columns: tuple[TrueColumn, ...] = ()
    bath_grey: float = 175.0
    glass_grey: float = 145.0
    face_grey: float = 45.0
    bubble_grey: float = 40.0
    noise_grey: float = 3.0
    blur_px: float = 0.8
    vignetting: float = 0.15
    mirror_share: float = 0.0
    samples: int = 4
    flaws: Flaws = FLAWLESS


def true_life_s(bubble: TrueBubble) -> float:
    """Compute a drawn bubble's life; where none was given, Rayleigh's in water."""
    if bubble.life_s is not None:
        return bubble.life_s
    return float(life_s(bubble.radius_max_m, WATER_KG_PER_M3, WATER_OVERPRESSURE_PA))
