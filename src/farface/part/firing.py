"""Fire the points of a part pulse by pulse, in order: heat, cavity, deposit, removal, and the rising floor.

A pulse that meets an open cavity etches the cells under it (`farface.part.pulse_stamp`). Any other heats the
bath on top of what earlier ones left there (`farface.part.left_heat`); past the rise that it needs a cavity
opens, lays a deposit, and takes the bath's heat within its radius with it. Ignition and cavity are those of
`farface.etch.column`, the map step that of `farface.etch.deposit`.
"""

import math
from typing import Final, NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

from farface.etch.column import Column, Liquid, burst_of
from farface.etch.deposit import Deposit
from farface.heat.drain import PROBES_ZETA
from farface.part.left_heat import Media, Memory, clear_bath_k, recall_k, remember
from farface.part.pulse_stamp import Cells, Tile, aim, etch, lay, lift, seed

# Cavities that may be open at once; an older one has long closed when so many have followed.
OPEN_AT_ONCE: Final = 8
# How fast the heat assumed of points off the map follows that of points on it.
FOLLOW: Final = 0.05
# Sums over a run, in order.
ABSORBED_J, REMOVED_M3, GLASS_J, BATH_SPOTS_K, TAKEN_SPOTS_K = range(5)


class Shots(NamedTuple):
    """Hold points in order of firing, each shape (points,): first pulse, place, and floor in focus.

    ``focus_m`` is how far below the untouched face the floor lies on which the lens is focused.
    """

    time_s: NDArray[np.float64]
    x_m: NDArray[np.float64]
    y_m: NDArray[np.float64]
    focus_m: NDArray[np.float64]


class Luck(NamedTuple):
    """Hold what differs from pulse to pulse, shape (points, pulses): rise needed, and life over its mean."""

    needed_k: NDArray[np.float64]
    life_ratio: NDArray[np.float64]


class Law(NamedTuple):
    """Hold what holds for a whole run under one draw.

    ``dwell`` and ``fresh`` are `farface.etch.column.Shares`; ``residue_k_m2_per_j`` is the rise in K per
    J/m2 absorbed
    that a point's own pulses leave, ``kept_share`` the share of absorbed heat that stays on the glass.
    """

    rate_hz: float
    pulses: int
    fluence_j_per_m2: float
    heating_k: float
    rayleigh_m: float
    thickness_m: float
    cell_m: float
    left_m: float
    bottom_m: float
    kept_share: float
    column: Column
    liquid: Liquid
    deposit: Deposit
    media: Media
    dwell: NDArray[np.float64]
    fresh: NDArray[np.float64]
    residue_k_m2_per_j: NDArray[np.float64]


class Found(NamedTuple):
    """Hold what came of every point, shape (points,), and the sums of the run.

    ``glass_k`` and ``bath_k`` are what earlier points had left there.
    """

    glass_k: NDArray[np.float64]
    bath_k: NDArray[np.float64]
    flashes: NDArray[np.int64]
    etching: NDArray[np.int64]
    sums: NDArray[np.float64]


class _Now(NamedTuple):
    """Hold the cavities that may be open, shape (cavity, 4): place, radius, end; and scratch.

    ``turn[0]`` is the cavity that is replaced next; ``typical[0]`` what a point off the map absorbs a pulse.
    """

    cavities: NDArray[np.float64]
    turn: NDArray[np.int64]
    typical: NDArray[np.float64]
    left_k: NDArray[np.float64]
    absorbed: NDArray[np.float64]


def nothing_found(points: int) -> Found:
    """Return room for what comes of so many points."""
    none, counts = np.zeros(points), np.zeros(points, dtype=np.int64)
    return Found(none, none.copy(), counts, counts.copy(), np.zeros(5))


@njit(cache=True, nogil=True)
def fire(
    shots: Shots, luck: Luck, law: Law, cells: Cells, tile: Tile, memory: Memory, found: Found
) -> None:  # fmt: skip
    """Fire every point; ``cells`` and ``memory`` are carried on, so a run may be cut between any two points.

    A point too near the rim of the map heats, but etches nothing; it is taken to absorb what others do.
    Cavities do not outlive a cut.
    """
    now = _Now(
        np.zeros((OPEN_AT_ONCE, 4)), np.zeros(1, dtype=np.int64), np.zeros(1),
        np.zeros(PROBES_ZETA.size), np.zeros(law.pulses),
    )  # fmt: skip
    for n in range(shots.time_s.size):
        _fire_point(n, shots, luck, law, cells, tile, memory, found, now)


@njit(cache=True, nogil=True)
def _fire_point(
    n: int, shots: Shots, luck: Luck, law: Law, cells: Cells, tile: Tile, memory: Memory, found: Found,
    now: _Now,
) -> None:  # fmt: skip
    x, y = shots.x_m[n], shots.y_m[n]
    middle_s = shots.time_s[n] + 0.5 * (law.pulses - 1) / law.rate_hz
    glass_k = recall_k(memory, law.media, middle_s, x, y, now.left_k)
    found.glass_k[n], found.bath_k[n] = glass_k, now.left_k.max()
    on_map, bottom, left, weaker = _take_aim(x, y, shots.focus_m[n], law, cells, tile)
    if on_map:
        lift(cells, tile, bottom, left)
    through = on_map and cells.depth_m[bottom + tile.width // 2, left + tile.width // 2] >= law.thickness_m
    age, now.absorbed[:] = 0, 0.0
    for k in range(law.pulses):
        time_s = shots.time_s[n] + k / law.rate_hz
        if _is_open(time_s, x, y, now):
            found.etching[n] += 1
            if on_map and not through:
                _etch_pulse(k, glass_k, weaker * law.fluence_j_per_m2, law, tile, found, now)
            elif not on_map:
                now.absorbed[k] = now.typical[0]
            continue
        hottest_k, probe = _hottest(age, weaker * law.heating_k, law, now)
        age += 1
        found.sums[BATH_SPOTS_K] += weaker * law.heating_k
        if hottest_k > luck.needed_k[n, k]:
            found.flashes[n] += 1
            radius_m = _open(
                time_s, x, y, hottest_k / luck.needed_k[n, k], probe, luck.life_ratio[n, k], law, now
            )
            found.sums[TAKEN_SPOTS_K] += age * weaker * law.heating_k + clear_bath_k(memory, x, y, radius_m)
            recall_k(memory, law.media, middle_s, x, y, now.left_k)
            age = 0
            if on_map:
                seed(tile, law.deposit.seed)
    if on_map:
        lay(cells, tile, bottom, left)
    kept = law.kept_share * now.absorbed.sum()
    remember(memory, age * weaker * law.heating_k, kept, middle_s, x, y)


@njit(cache=True, nogil=True)
def _take_aim(
    x_m: float, y_m: float, focus_m: float, law: Law, cells: Cells, tile: Tile
) -> tuple[bool, int, int, float]:
    """Aim the tile at a point; return if it lies on the map, its first row and column, and the peak's loss.

    The spot is wider where the floor under it is not the one in focus: w^2 grows by 1 + (d / z_R)^2.
    """
    half = tile.width // 2
    x_px, y_px = (x_m - law.left_m) / law.cell_m, (y_m - law.bottom_m) / law.cell_m
    left, bottom = math.floor(x_px) - half + 1, math.floor(y_px) - half + 1
    rows, columns = cells.depth_m.shape
    if min(left, bottom) < 0 or left + tile.width > columns or bottom + tile.width > rows:
        return False, 0, 0, 1.0
    off_m = cells.depth_m[round(y_px), round(x_px)] - focus_m
    wider = 1.0 + (off_m / law.rayleigh_m) ** 2
    aim(tile, x_px - left, y_px - bottom, law.media.spot_radius_m * math.sqrt(wider) / law.cell_m)
    return True, bottom, left, 1.0 / wider


@njit(cache=True, nogil=True)
def _etch_pulse(
    k: int, glass_k: float, fluence_j_per_m2: float, law: Law, tile: Tile, found: Found, now: _Now
) -> None:
    """Etch under pulse k of a point; what it absorbs counts as that of a Gaussian spot of equal energy."""
    rise_k = glass_k
    for j in range(k):
        rise_k += law.residue_k_m2_per_j[k - 1 - j] * now.absorbed[j]
    absorbed, removed = etch(tile, fluence_j_per_m2, rise_k, law.deposit)
    cell_m2 = law.cell_m**2
    now.absorbed[k] = absorbed * cell_m2 / (0.5 * math.pi * law.media.spot_radius_m**2)
    now.typical[0] += FOLLOW * (now.absorbed[k] - now.typical[0])
    found.sums[ABSORBED_J] += absorbed * cell_m2
    found.sums[REMOVED_M3] += removed * cell_m2
    found.sums[GLASS_J] += law.kept_share * absorbed * cell_m2


@njit(cache=True, nogil=True)
def _is_open(time_s: float, x_m: float, y_m: float, now: _Now) -> bool:
    """Say whether a cavity is open at a time and place."""
    for cavity in now.cavities:
        if time_s < cavity[3] and (x_m - cavity[0]) ** 2 + (y_m - cavity[1]) ** 2 < cavity[2] ** 2:
            return True
    return False


@njit(cache=True, nogil=True)
def _hottest(age: int, heating_k: float, law: Law, now: _Now) -> tuple[float, int]:
    """Return the highest rise right after a pulse, and its probe; ``age`` own pulses heated before it."""
    best, probe = -1.0, 0
    for i in range(law.fresh.size):
        rise_k = now.left_k[i] + heating_k * (law.dwell[age, i] + law.fresh[i])
        if rise_k > best:
            best, probe = rise_k, i
    return best, probe


@njit(cache=True, nogil=True)
def _open(
    time_s: float, x_m: float, y_m: float, overshoot: float, probe: int, longer: float, law: Law, now: _Now
) -> float:
    """Open a cavity and return its largest radius."""
    hottest_m = PROBES_ZETA[probe] * law.media.spot_radius_m
    _, radius_m, life_s = burst_of(math.log(overshoot), hottest_m, law.column, law.liquid)
    cavity = now.cavities[now.turn[0]]
    cavity[0], cavity[1], cavity[2], cavity[3] = x_m, y_m, radius_m, time_s + life_s * longer
    now.turn[0] = (now.turn[0] + 1) % OPEN_AT_ONCE
    return radius_m
