"""Remember the heat that earlier points left in bath and glass, at a cost that hardly grows with them.

The last points are kept one by one. Older ones are merged, eight to a lump, lumps again eight to one, each
with its heat, mean time, mean place and spread: a lump is merged only when its heat has spread beyond its
size. So the near field is exact, the far field coarse, no pause is too long, and no heat is lost on the way.
"""

import math
from typing import Final, NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

from farface.heat.drain import LOG_TAU, PROBES_ZETA, drain_at

LEVELS: Final = 5
SLOTS: Final = 16
MERGED: Final = 8
# Heat this many e-foldings off a lump's flank is not felt.
FELT: Final = 16.0
# A rise from one lump that is smaller than this is not felt either.
LEAST_K: Final = 0.01
# What a lump holds: rise of the bath in K, heat on the glass in J/m2, points, time, place, spreads.
BATH_K, GLASS_J, POINTS, TIME_S, X_M, Y_M, XX_M2, XY_M2, YY_M2 = range(9)


class Media(NamedTuple):
    """Hold what spreads the heat: spot radius, diffusivities, effusivity, and the bath's drain over log tau.

    ``drain``, shape (tau, probe), is the table of `farface.heat.drain` at the bath's absorption.
    """

    spot_radius_m: float
    bath_m2_per_s: float
    glass_m2_per_s: float
    glass_effusivity_j_per_m2_k_sqrt_s: float
    drain: NDArray[np.float64]


class Memory(NamedTuple):
    """Hold lumps, shape (level, slot, 9), oldest first, how many each level has, and what was forgotten."""

    lumps: NDArray[np.float64]
    counts: NDArray[np.int64]
    forgotten: NDArray[np.float64]


@njit(cache=True, nogil=True)
def empty_memory() -> Memory:
    """Return a memory without any heat."""
    return Memory(np.zeros((LEVELS, SLOTS, 9)), np.zeros(LEVELS, dtype=np.int64), np.zeros(2))


def media_of(
    *, spot_radius_m: float, absorption_per_m: float, bath_m2_per_s: float, glass_m2_per_s: float,
    glass_effusivity_j_per_m2_k_sqrt_s: float, drain: NDArray[np.float64],
) -> Media:  # fmt: skip
    """Gather the media; the drain table is read at the absorption, between its rows as `drain_at` does."""
    log_alpha_w = math.log(absorption_per_m * spot_radius_m)
    rows = np.array([[drain_at(drain, log_alpha_w, i, t) for i in range(PROBES_ZETA.size)] for t in LOG_TAU])
    return Media(spot_radius_m, bath_m2_per_s, glass_m2_per_s, glass_effusivity_j_per_m2_k_sqrt_s, rows)


@njit(cache=True, nogil=True)
def remember(
    memory: Memory, bath_k: float, glass_j_per_m2: float, time_s: float, x_m: float, y_m: float
) -> None:
    """Add the heat of a point, as if all of it had come at its mean time, and merge what has grown old."""
    _make_room(memory)
    lump = memory.lumps[0, memory.counts[0]]
    lump[:] = 0.0
    lump[BATH_K], lump[GLASS_J], lump[POINTS], lump[TIME_S] = bath_k, glass_j_per_m2, 1.0, time_s
    lump[X_M], lump[Y_M] = x_m, y_m
    memory.counts[0] += 1


@njit(cache=True, nogil=True)
def _make_room(memory: Memory) -> None:
    """Merge the oldest lumps of every full level, from the top, so that the level below finds room."""
    for level in range(LEVELS - 1, -1, -1):
        if memory.counts[level] < SLOTS:
            continue
        here = memory.lumps[level]
        if level == LEVELS - 1:
            for slot in range(MERGED):
                memory.forgotten[0] += here[slot, BATH_K]
                memory.forgotten[1] += here[slot, GLASS_J]
        else:
            _merge(here, memory.lumps[level + 1, memory.counts[level + 1]])
            memory.counts[level + 1] += 1
        for slot in range(SLOTS - MERGED):
            here[slot] = here[slot + MERGED]
        memory.counts[level] -= MERGED


@njit(cache=True, nogil=True)
def _merge(lumps: NDArray[np.float64], into: NDArray[np.float64]) -> None:
    """Join the first `MERGED` lumps: heats add, times and places average, spreads add about the new place."""
    into[:] = 0.0
    for slot in range(MERGED):
        one = lumps[slot]
        into[BATH_K] += one[BATH_K]
        into[GLASS_J] += one[GLASS_J]
        into[POINTS] += one[POINTS]
        for part in (TIME_S, X_M, Y_M):
            into[part] += one[POINTS] * one[part]
    for part in (TIME_S, X_M, Y_M):
        into[part] /= into[POINTS]
    for slot in range(MERGED):
        one = lumps[slot]
        share = one[POINTS] / into[POINTS]
        x, y = one[X_M] - into[X_M], one[Y_M] - into[Y_M]
        into[XX_M2] += share * (one[XX_M2] + x * x)
        into[XY_M2] += share * (one[XY_M2] + x * y)
        into[YY_M2] += share * (one[YY_M2] + y * y)


@njit(cache=True, nogil=True)
def recall_k(
    memory: Memory, media: Media, time_s: float, x_m: float, y_m: float, bath_k: NDArray[np.float64]
) -> float:
    """Put what is left in the bath at each probe into ``bath_k``; return the rise left on the glass in K.

    A lump of spread S (a matrix) that a spot of radius w laid spreads as S + (w^2/4 + 2 D t) 1. On the glass
    its heat q falls as q / (e sqrt(pi t)); in the bath its rise falls by the drain.
    """
    bath_k[:] = 0.0
    glass_k = 0.0
    to_tau = media.bath_m2_per_s / media.spot_radius_m**2
    for level in range(LEVELS):
        for slot in range(memory.counts[level]):
            lump = memory.lumps[level, slot]
            age_s = time_s - lump[TIME_S]
            if lump[GLASS_J] > 0.0:
                cooled = media.glass_effusivity_j_per_m2_k_sqrt_s * math.sqrt(math.pi * age_s)
                peak_k = lump[GLASS_J] / cooled
                glass_k += _felt_k(peak_k, lump, 2.0 * media.glass_m2_per_s * age_s, media, x_m, y_m)
            if lump[BATH_K] > 0.0:
                rise_k = _felt_k(lump[BATH_K], lump, 2.0 * media.bath_m2_per_s * age_s, media, x_m, y_m)
                if rise_k > 0.0:
                    _drain(rise_k, math.log(to_tau * age_s), media.drain, bath_k)
    return glass_k


@njit(cache=True, nogil=True)
def _felt_k(
    peak_k: float, lump: NDArray[np.float64], spread_m2: float, media: Media, x_m: float, y_m: float
) -> float:
    """Spread a rise from the middle of a fresh spot to a place; what is below `LEAST_K` counts as none."""
    own = 0.25 * media.spot_radius_m**2
    xx, yy, xy = lump[XX_M2] + own + spread_m2, lump[YY_M2] + own + spread_m2, lump[XY_M2]
    det = xx * yy - xy * xy
    peak_k *= own / math.sqrt(det)
    if peak_k < LEAST_K:
        return 0.0
    x, y = x_m - lump[X_M], y_m - lump[Y_M]
    away = 0.5 * (x * x * yy - 2.0 * x * y * xy + y * y * xx) / det
    return 0.0 if away > FELT else peak_k * math.exp(-away)


@njit(cache=True, nogil=True)
def _drain(rise_k: float, log_tau: float, drain: NDArray[np.float64], bath_k: NDArray[np.float64]) -> None:
    """Add a rise at every probe, read between the times of the table and held past its ends."""
    t = (log_tau - LOG_TAU[0]) / (LOG_TAU[1] - LOG_TAU[0])
    t = min(max(t, 0.0), LOG_TAU.size - 1.000001)
    j = int(t)
    for i in range(bath_k.size):
        bath_k[i] += rise_k * (drain[j, i] + (t - j) * (drain[j + 1, i] - drain[j, i]))


@njit(cache=True, nogil=True)
def clear_bath_k(memory: Memory, x_m: float, y_m: float, radius_m: float) -> float:
    """Take the bath's heat out of every lump within a cavity; return what was taken, in K x spots."""
    taken = 0.0
    for level in range(LEVELS):
        for slot in range(memory.counts[level]):
            lump = memory.lumps[level, slot]
            if (lump[X_M] - x_m) ** 2 + (lump[Y_M] - y_m) ** 2 < radius_m**2:
                taken += lump[BATH_K]
                lump[BATH_K] = 0.0
    return taken
