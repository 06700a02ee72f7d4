"""Draw films whose every bubble and flash is known, to test and to demonstrate the reading of real ones."""

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numba import njit
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter, map_coordinates

from farface.footage.coordinates import pixel_of
from farface.footage.drawn_column import column_share
from farface.footage.drawn_flaws import dirt_share, lamp_share, stick
from farface.footage.drawn_truth import FilmTruth, TrueBubble, TrueColumn, TrueFlash, true_life_s
from farface.materials.bubble_life import radius_share

__all__ = [
    "FilmTruth",
    "TrueBubble",
    "TrueColumn",
    "TrueDisc",
    "TrueFlash",
    "discs_in_frame",
    "draw_film",
    "draw_frames",
    "true_life_s",
]

_FACE_HALF_PX = 1.2  # half the thickness of the dark line by which the face shows
_FLASH_GREY = 400.0  # added at the heart of a flash: well past white, so that it saturates


@dataclass(frozen=True, slots=True, kw_only=True)
class TrueDisc:
    """Hold what one frame shows of a bubble: its centre, and its radius averaged over the exposure."""

    bubble: int
    column_px: float
    row_px: float
    radius_px: float


def draw_film(truth: FilmTruth, rng: np.random.Generator) -> NDArray[np.uint8]:
    """Draw a whole film into memory, shape (time, row, column), uint8."""
    return np.stack(list(draw_frames(truth, rng)))


def draw_frames(truth: FilmTruth, rng: np.random.Generator) -> Iterator[NDArray[np.uint8]]:
    """Draw a film frame by frame, shape (row, column), uint8.

    A back-lit scene: bright bath, the far face as a dark line with glass above it, bubbles as dark discs
    hidden where the glass is, flashes as saturated blobs with a soft edge. A frame shows the mean over
    its exposure of ``samples`` instants. Leaves out the bright spot in a bubble's middle and refraction.
    """
    empty, hidden = _empty_scene(truth)
    light = _light(truth) * dirt_share(truth.flaws, shape=(truth.height_px, truth.width_px))
    film_s = truth.frames / truth.scale.frame_hz
    still = gaussian_filter(empty, truth.blur_px, mode="nearest")
    for number in range(truth.frames):
        cover = _cover(truth, number)
        glow = _glow(truth, number)
        scene = still
        if cover is not None:
            shown = cover * (1.0 - hidden) + truth.mirror_share * _mirrored(truth, cover) * hidden
            sharp = empty - (truth.bath_grey - truth.bubble_grey) * shown
            scene = gaussian_filter(sharp, truth.blur_px, mode="nearest")
        if glow is not None:
            scene = scene + gaussian_filter(glow, truth.blur_px, mode="nearest")
        noise = rng.standard_normal(scene.shape, dtype=np.float32) * np.float32(truth.noise_grey)
        time_s = number / truth.scale.frame_hz
        lamp = lamp_share(truth.flaws, time_s=time_s, film_s=film_s, width_px=truth.width_px)
        frame = np.clip(np.rint(scene * light * lamp + noise), 0.0, 255.0).astype(np.uint8)
        stick(frame, truth.flaws)
        yield frame


def discs_in_frame(truth: FilmTruth, number: int) -> tuple[TrueDisc, ...]:
    """List the discs a frame truly shows, hidden parts included, in the order of ``truth.bubbles``."""
    discs = []
    for index, radii_px in _radii_px(truth, number).items():
        bubble = truth.bubbles[index]
        column_px, row_px = pixel_of(truth.scale, along_m=bubble.along_m, below_m=bubble.below_m)
        discs.append(
            TrueDisc(bubble=index, column_px=column_px, row_px=row_px, radius_px=float(radii_px.mean()))
        )
    return tuple(discs)


def _radii_px(truth: FilmTruth, number: int) -> dict[int, NDArray[np.float64]]:
    """Compute the radii at a frame's sampled instants, by index of bubble, for those that show at all."""
    scale = truth.scale
    instants_s = number / scale.frame_hz + scale.exposure_s * (np.arange(truth.samples) + 0.5) / truth.samples
    radii_px = {}
    for index, bubble in enumerate(truth.bubbles):
        lasts_s = true_life_s(bubble)
        if bubble.start_s >= instants_s[-1] or bubble.start_s + lasts_s <= instants_s[0]:
            continue
        shares = radius_share((instants_s - bubble.start_s) / lasts_s)
        radii_px[index] = shares * bubble.radius_max_m / scale.pixel_m
    return radii_px


def _cover(truth: FilmTruth, number: int) -> NDArray[np.float32] | None:
    """Compute the share of each pixel's light that bubbles block during a frame; None if there are none."""
    discs = _radii_px(truth, number)
    columns = column_share(truth, number)
    if not discs and columns is None:
        return None
    total = np.zeros((truth.height_px, truth.width_px), dtype=np.float32)
    for sample in range(truth.samples):
        clear = np.ones_like(total)
        for index, radii_px in discs.items():
            bubble = truth.bubbles[index]
            column_px, row_px = pixel_of(truth.scale, along_m=bubble.along_m, below_m=bubble.below_m)
            _block_disc(clear, column_px, row_px, float(radii_px[sample]))
        total += 1.0 - clear
    total /= truth.samples
    return np.asarray(total if columns is None else np.maximum(total, columns), dtype=np.float32)


def _mirrored(truth: FilmTruth, cover: NDArray[np.float32]) -> NDArray[np.float32]:
    """Reflect a cover in the face, column by column, which is right to first order in the slope."""
    if truth.mirror_share == 0.0:
        return np.zeros_like(cover)
    rows, columns = np.mgrid[0 : cover.shape[0], 0 : cover.shape[1]]
    across = 2.0 * (truth.scale.face_row_px + truth.scale.face_slope * columns) - rows
    return np.asarray(map_coordinates(cover, [across, columns], order=1, mode="constant"), dtype=np.float32)


def _glow(truth: FilmTruth, number: int) -> NDArray[np.float32] | None:
    """Compute the light that a frame's flashes add; None if it has none."""
    opens_s = number / truth.scale.frame_hz
    seen = [f for f in truth.flashes if opens_s <= f.time_s < opens_s + truth.scale.exposure_s]
    if not seen:
        return None
    rows, columns = np.mgrid[0 : truth.height_px, 0 : truth.width_px].astype(np.float32)
    glow = np.zeros_like(rows)
    for flash in seen:
        column_px, row_px = pixel_of(truth.scale, along_m=flash.along_m, below_m=flash.below_m)
        radius_px = flash.radius_m / truth.scale.pixel_m
        inside = (radius_px - np.hypot(columns - column_px, rows - row_px)) / max(1.5, 0.4 * radius_px)
        glow += np.float32(_FLASH_GREY) * np.clip(inside + 0.5, 0.0, 1.0)
    return np.asarray(glow)


def _empty_scene(truth: FilmTruth) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """Draw glass, face line and bath without blur; and the share of each pixel that hides a bubble."""
    rows, columns = np.mgrid[0 : truth.height_px, 0 : truth.width_px].astype(np.float32)
    slope = truth.scale.face_slope
    below_px = (rows - truth.scale.face_row_px - slope * columns) / math.hypot(1.0, slope)
    glass = np.clip(0.5 - below_px, 0.0, 1.0)
    line = np.clip(_FACE_HALF_PX + 0.5 - np.abs(below_px), 0.0, 1.0)
    scene = truth.glass_grey * glass + truth.bath_grey * (1.0 - glass)
    scene = scene * (1.0 - line) + truth.face_grey * line
    return scene.astype(np.float32), np.maximum(glass, line).astype(np.float32)


def _light(truth: FilmTruth) -> NDArray[np.float32]:
    """Compute the back light's share that reaches each pixel, falling with the distance squared."""
    rows = np.linspace(-1.0, 1.0, truth.height_px)[:, None]
    columns = np.linspace(-1.0, 1.0, truth.width_px)[None, :]
    return np.asarray(1.0 - truth.vignetting * (rows**2 + columns**2) / 2.0, dtype=np.float32)


@njit(cache=True, nogil=True)
def _block_disc(clear: NDArray[np.float32], column_px: float, row_px: float, radius_px: float) -> None:
    """Multiply ``clear`` by the share of each pixel outside a disc; 4 x 4 samples in a pixel at the edge."""
    height, width = clear.shape
    reach = radius_px + 1.0
    for i in range(max(0, int(row_px - reach)), min(height, int(row_px + reach) + 2)):
        for j in range(max(0, int(column_px - reach)), min(width, int(column_px + reach) + 2)):
            distance = math.hypot(i - row_px, j - column_px)
            if distance > radius_px + 0.75:
                continue
            if distance < radius_px - 0.75:
                clear[i, j] = 0.0
                continue
            blocked = 0.0
            for a in range(4):
                for b in range(4):
                    part = math.hypot(i + (a - 1.5) / 4.0 - row_px, j + (b - 1.5) / 4.0 - column_px)
                    blocked += min(1.0, max(0.0, (radius_px - part) * 4.0 + 0.5))
            clear[i, j] *= 1.0 - blocked / 16.0
