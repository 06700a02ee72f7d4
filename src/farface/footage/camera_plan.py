"""Work out what a high-speed camera must do to show a bubble or every pulse, and what one at hand can do."""

import math
from dataclasses import dataclass
from typing import Final

from farface.kernel import OutOfRange
from farface.materials.bubble_life import WATER_KG_PER_M3, WATER_OVERPRESSURE_PA, radius_from_life_m
from farface.records import Camera

FITTED_FRAMES: Final = 4  # frames a life: three show it wherever the first falls, and a life can be fitted
BLUR_PX: Final = 1.0  # an edge may move so far during an exposure
LEAST_RADIUS_PX: Final = 4.0  # smaller discs are read less well than a tenth of a pixel in 4 sigmas of noise
FEWEST_ROWS: Final = 32


@dataclass(frozen=True, slots=True, kw_only=True)
class CameraNeeds:
    """Hold what shows a bubble of one life: its radius in water, and the camera's limits.

    ``frame_hz`` measures the life, ``glimpse_hz`` shows the bubble at least once whatever the exposure.
    """

    life_s: float
    radius_m: float
    frame_hz: float
    glimpse_hz: float
    exposure_max_s: float
    pixel_max_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class CameraOffer:
    """Hold what one camera does at its present setting; ``light_ratio`` is the light needed over today's.

    ``rows_at_need`` is how many rows are left at the frame rate needed, if the camera reads out as many
    pixels a second as now; 0 where too few. ``open_share`` is how long the shutter is open: the share of
    flashes that are seen. ``beat_s`` is how often frames and pulses fall together; infinite if they never
    drift apart.
    """

    width_m: float
    height_m: float
    life_in_frames: float
    open_share: float
    light_ratio: float
    rows_at_need: int
    beat_s: float
    file_bytes: int


def needs(*, life_s: float, pixel_m: float) -> CameraNeeds:
    """Work out what shows a bubble that lives ``life_s`` on pixels of ``pixel_m``.

    The radius is Rayleigh's in water at 20 C [rayleigh1917]. The exposure is that in which an edge moves one
    pixel at the mean speed of growth, R / (life / 2); near opening and collapse it is faster and blurs.
    """
    if not (life_s > 0.0 and pixel_m > 0.0):
        raise OutOfRange(
            f"the life is {life_s:g} s and the pixel {pixel_m:g} m, but each is above zero. Give a bubble's "
            'life such as "50 us" and the size of a pixel on the object.'
        )
    radius_m = float(radius_from_life_m(life_s, WATER_KG_PER_M3, WATER_OVERPRESSURE_PA))
    return CameraNeeds(
        life_s=life_s,
        radius_m=radius_m,
        frame_hz=FITTED_FRAMES / life_s,
        glimpse_hz=1.0 / life_s,
        exposure_max_s=BLUR_PX * pixel_m / (radius_m / (0.5 * life_s)),
        pixel_max_m=radius_m / LEAST_RADIUS_PX,
    )


def offer(camera: Camera, need: CameraNeeds, *, rate_hz: float, film_s: float) -> CameraOffer:
    """Work out what a camera shows of that bubble and of pulses at ``rate_hz``, in a film of ``film_s``."""
    pixels_per_s = camera.frame_hz * camera.width_px * camera.height_px
    rows = math.floor(pixels_per_s / (max(need.frame_hz, camera.frame_hz) * camera.width_px))
    return CameraOffer(
        width_m=camera.width_px * camera.pixel_m,
        height_m=camera.height_px * camera.pixel_m,
        life_in_frames=need.life_s * camera.frame_hz,
        open_share=min(1.0, camera.exposure_s * camera.frame_hz),
        light_ratio=max(1.0, camera.exposure_s / need.exposure_max_s),
        rows_at_need=rows if rows >= FEWEST_ROWS else 0,
        beat_s=beat_s(camera.frame_hz, rate_hz=rate_hz),
        file_bytes=round(film_s * camera.frame_hz) * camera.width_px * camera.height_px,
    )


def beat_s(frame_hz: float, *, rate_hz: float) -> float:
    """Compute how often a frame meets a pulse in the same way, 1 / |f - k g| with the nearest multiple.

    The faster of the two rates is compared with the nearest whole multiple of the slower. In a beat a film
    shows every phase of a pulse once, and between beats it may show pulses never or always.
    """
    fast, slow = max(frame_hz, rate_hz), min(frame_hz, rate_hz)
    apart_hz = abs(fast - round(fast / slow) * slow)
    return math.inf if apart_hz < 1e-9 * fast else 1.0 / apart_hz
