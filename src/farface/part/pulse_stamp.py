"""Etch every cell under one pulse: absorb, remove glass, grow and wear the deposit and the skin.

The map step is that of `farface.etch.deposit`, for all cells under the spot at once. The cells of a point are
lifted into one flat tile, etched there by all pulses of the point, and laid back: so the loops are long
enough
for the processor's widest instructions. Exponentials are the continued fraction of tanh(x / 2) to seven
terms,
good to 1e-7 up to x = 8; beyond x = 10, where the deposit is opaque and the wear complete, they stand still.
"""

import math
from typing import Final, NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

from farface.etch.deposit import LINEAR, Deposit, growth_left_m4_per_j2, threshold_left_j_per_m2

# The fluence of a pulse is followed to this many spot radii, where it is 1 % of its peak.
REACH: Final = 1.5
# tanh y = y (p0 + p1 y^2 + p2 y^4 + y^6) / (p0 + q1 y^2 + q2 y^4 + q3 y^6), up to y = 5.
_TANH: Final = np.array([0.5, 5.0, 135135.0, 17325.0, 378.0, 62370.0, 3150.0, 28.0, 2.0, 0.0, 1.0])
# Order and rounding of sums may differ between processors, not between runs on one.
_flat = njit(cache=True, nogil=True, error_model="numpy", fastmath=True)


class Cells(NamedTuple):
    """Hold the state of every cell, shape (row, column): deposit, skin, and depth in m (float64)."""

    deposit: NDArray[np.floating]
    skin: NDArray[np.floating]
    depth_m: NDArray[np.float64]


class Tile(NamedTuple):
    """Hold the cells under one point, ``width`` across and up, flat; ``share`` is of the peak fluence.

    ``numbers`` brings the constants of a pulse into the precision of the cells.
    """

    width: int
    deposit: NDArray[np.floating]
    skin: NDArray[np.floating]
    depth_m: NDArray[np.float64]
    share: NDArray[np.floating]
    absorbed_j_per_m2: NDArray[np.floating]
    removed_m: NDArray[np.floating]
    numbers: NDArray[np.floating]
    tanh: NDArray[np.floating]


def empty_cells(rows: int, columns: int, *, exact: bool = False) -> Cells:
    """Return untouched cells, in single precision unless ``exact``."""
    kind = np.float64 if exact else np.float32
    shape = (rows, columns)
    return Cells(np.zeros(shape, dtype=kind), np.zeros(shape, dtype=kind), np.zeros(shape))


def tile_width(spot_radius_px: float) -> int:
    """Return how many cells across a tile takes for a spot of a radius in cells."""
    return 2 * math.ceil(REACH * spot_radius_px)


def empty_tile(width: int, cells: Cells) -> Tile:
    """Return a tile in the precision of the cells."""
    kind = cells.deposit.dtype
    deposit, skin, share, absorbed, removed = (np.zeros(width * width, dtype=kind) for _ in range(5))
    return Tile(
        width, deposit, skin, np.zeros(width * width), share, absorbed, removed, np.zeros(6, dtype=kind),
        _TANH.astype(kind),
    )  # fmt: skip


@njit(cache=True, nogil=True)
def lift(cells: Cells, tile: Tile, bottom: int, left: int) -> None:
    """Copy the cells from row ``bottom`` and column ``left`` on into the tile."""
    width = tile.width
    for j in range(width):
        deposit = cells.deposit[bottom + j, left : left + width]
        skin = cells.skin[bottom + j, left : left + width]
        depth = cells.depth_m[bottom + j, left : left + width]
        for i in range(width):
            tile.deposit[j * width + i] = deposit[i]
        for i in range(width):
            tile.skin[j * width + i] = skin[i]
        for i in range(width):
            tile.depth_m[j * width + i] = depth[i]


@njit(cache=True, nogil=True)
def lay(cells: Cells, tile: Tile, bottom: int, left: int) -> None:
    """Copy the tile back to where it was lifted."""
    width = tile.width
    for j in range(width):
        deposit = cells.deposit[bottom + j, left : left + width]
        skin = cells.skin[bottom + j, left : left + width]
        depth = cells.depth_m[bottom + j, left : left + width]
        for i in range(width):
            deposit[i] = tile.deposit[j * width + i]
        for i in range(width):
            skin[i] = tile.skin[j * width + i]
        for i in range(width):
            depth[i] = tile.depth_m[j * width + i]


@njit(cache=True, nogil=True)
def aim(tile: Tile, x_px: float, y_px: float, spot_radius_px: float) -> None:
    """Set the share of the peak fluence that every cell gets; the point lies at (x, y) of the tile."""
    width = tile.width
    for i in range(width):
        tile.absorbed_j_per_m2[i] = math.exp(-2.0 * ((i - x_px) / spot_radius_px) ** 2)
        tile.removed_m[i] = math.exp(-2.0 * ((i - y_px) / spot_radius_px) ** 2)
    for j in range(width):
        for i in range(width):
            tile.share[j * width + i] = tile.absorbed_j_per_m2[i] * tile.removed_m[j]


@_flat
def seed(tile: Tile, deposit: float) -> None:
    """Lay the deposit of one ignition, in the shape of the spot."""
    tile.numbers[0] = deposit
    peak = tile.numbers[0]
    for i in range(tile.share.size):
        tile.deposit[i] += peak * tile.share[i]


@njit(cache=True, nogil=True)
def etch(tile: Tile, fluence_j_per_m2: float, rise_k: float, c: Deposit) -> tuple[float, float]:
    """Etch under one pulse on glass that earlier ones left warmer by ``rise_k``.

    Returns fluence absorbed and depth removed, summed over cells.
    """
    numbers = tile.numbers
    threshold_j_per_m2 = threshold_left_j_per_m2(rise_k, c)
    numbers[0], numbers[1], numbers[2] = fluence_j_per_m2, threshold_j_per_m2, c.removal_m3_per_j
    if c.law != LINEAR:
        numbers[2] *= c.threshold_j_per_m2
    numbers[3], numbers[4], numbers[5] = growth_left_m4_per_j2(rise_k, c), 1.0 / c.wear_m, c.passivation
    absorbed = _absorb(tile)
    if c.law == LINEAR:
        _remove(tile)
    else:
        _remove_logarithmic(tile)
    _grow_and_wear(tile)
    return absorbed, _take_down(tile)


@_flat
def _absorb(tile: Tile) -> float:
    """Fill ``absorbed_j_per_m2`` with F (1 - exp(-m)) = F 2 t / (1 + t), t = tanh(m / 2); return its sum."""
    half, top, p0, p1, p2, q1, q2, q3, two, _, _ = _eleven(tile.tanh)
    fluence = tile.numbers[0]
    for i in range(tile.share.size):
        y = min(half * tile.deposit[i], top)
        yy = y * y
        yp = y * (p0 + yy * (p1 + yy * (p2 + yy)))
        q = p0 + yy * (q1 + yy * (q2 + yy * q3))
        tile.absorbed_j_per_m2[i] = fluence * tile.share[i] * (two * yp / (q + yp))
    total = 0.0
    for i in range(tile.share.size):
        total += tile.absorbed_j_per_m2[i]
    return total


@_flat
def _remove(tile: Tile) -> None:
    """Fill ``removed_m`` with k (A F - F_th)+."""
    threshold, removal, none = tile.numbers[1], tile.numbers[2], tile.tanh[9]
    for i in range(tile.share.size):
        tile.removed_m[i] = removal * max(tile.absorbed_j_per_m2[i] - threshold, none)


@njit(cache=True, nogil=True)
def _remove_logarithmic(tile: Tile) -> None:
    """Fill ``removed_m`` with k F_th0 ln(A F / F_th) above threshold."""
    threshold, removal = tile.numbers[1], tile.numbers[2]
    for i in range(tile.share.size):
        absorbed = tile.absorbed_j_per_m2[i]
        tile.removed_m[i] = removal * math.log(absorbed / threshold) if absorbed > threshold else 0.0


@_flat
def _grow_and_wear(tile: Tile) -> None:
    """Take m to (m + g a^2 (1 - s)) e and s to s e + p (1 - s) share, with e = exp(-dh / delta)."""
    half, top, p0, p1, p2, q1, q2, q3, _, _, one = _eleven(tile.tanh)
    growth, per_m, passivation = tile.numbers[3], half * tile.numbers[4], tile.numbers[5]
    for i in range(tile.share.size):
        y = min(per_m * tile.removed_m[i], top)
        yy = y * y
        yp = y * (p0 + yy * (p1 + yy * (p2 + yy)))
        q = p0 + yy * (q1 + yy * (q2 + yy * q3))
        kept = (q - yp) / (q + yp)
        bare = one - tile.skin[i]
        gained = growth * tile.absorbed_j_per_m2[i] * tile.absorbed_j_per_m2[i] * bare
        tile.deposit[i] = (tile.deposit[i] + gained) * kept
        tile.skin[i] = tile.skin[i] * kept + passivation * tile.share[i] * bare


@_flat
def _take_down(tile: Tile) -> float:
    """Take the floor down, in double precision; return what was removed, summed over cells."""
    total = 0.0
    for i in range(tile.share.size):
        total += tile.removed_m[i]
    if total > 0.0:
        for i in range(tile.share.size):
            tile.depth_m[i] += tile.removed_m[i]
    return total


@njit(cache=True, nogil=True)
def _eleven(c: NDArray[np.floating]) -> tuple[float, ...]:
    return c[0], c[1], c[2], c[3], c[4], c[5], c[6], c[7], c[8], c[9], c[10]
