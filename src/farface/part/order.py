"""Order the rows of a hatch so that no row is fired beside one that is still warm.

Rows are taken in turns: every s-th row first, then those between, in the order that keeps each new row
furthest from the last ones. Within a row the points keep their order: what a point finds of its neighbour's
heat and cavity is what the plates taught, and only the rows beside it change.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np
from numba import njit
from numpy.typing import NDArray

from farface.part.left_heat import Media, empty_memory, recall_k, remember

# Distances between rows fired one after another that are tried, in rows.
STRIDES: Final = (1, 2, 3, 4, 6, 8, 12, 16)
# The stride is the smallest that comes this near the coolest.
NEAR_SHARE: Final = 1.03
# The heat of a scan is followed over so many points; their first rows settle long before.
MOST_FOLLOWED: Final = 60_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Rows:
    """Hold the stride chosen, what the hottest point meets row by row and with it, and what it costs."""

    stride: int
    plain_k: float
    chosen_k: float
    longer_share: float


def interleaved_m(
    points_m: NDArray[np.float64], *, pitch_m: float, angle_rad: float, stride: int
) -> NDArray[np.float64]:
    """Return the points with every ``stride``-th row fired first, then those between; every other row turns.

    Rows lie at ``angle_rad`` to the x axis, ``pitch_m`` apart, as `farface.part.hatch` lays them.
    """
    along = points_m @ np.array([np.cos(angle_rad), np.sin(angle_rad)])
    row = np.rint(points_m @ np.array([-np.sin(angle_rad), np.cos(angle_rad)]) / pitch_m).astype(np.int64)
    row -= row.min()
    rows = np.unique(row)
    turn = np.array(_spread_out(stride))[rows % stride]
    order = np.lexsort((rows, turn))
    place = np.empty(rows[-1] + 1, dtype=np.int64)
    place[rows[order]] = np.arange(rows.size)
    at = place[row]
    return np.ascontiguousarray(points_m[np.lexsort((np.where(at % 2, -along, along), at))])


def _spread_out(stride: int) -> list[int]:
    """Return when each of ``stride`` rows gets its turn, far from those before: by bits read backwards."""
    bits = max(1, (stride - 1).bit_length())
    backwards = [int(f"{row:0{bits}b}"[::-1], 2) for row in range(stride)]
    return [sorted(backwards).index(value) for value in backwards]


def coolest_stride(
    points_m: NDArray[np.float64],
    *,
    pitch_m: float,
    angle_rad: float,
    media: Media,
    absorbed_j_per_m2: float,
    clock_s: Callable[[NDArray[np.float64]], NDArray[np.float64]],
) -> Rows:
    """Find the least of `STRIDES` whose hottest point is nearly as cool as that of any; about 0.5 s.

    ``clock_s`` says when each of some points is fired. Only the first `MOST_FOLLOWED` points are followed.
    """
    points_m = points_m[:MOST_FOLLOWED]
    hottest_k, ends_s = [], []
    for stride in STRIDES:
        order = interleaved_m(points_m, pitch_m=pitch_m, angle_rad=angle_rad, stride=stride)
        times_s = clock_s(order)
        met_k = left_over_k(order, times_s, media=media, absorbed_j_per_m2=absorbed_j_per_m2)
        hottest_k.append(float(met_k.max()))
        ends_s.append(float(times_s[-1]))
    at = next(i for i, k in enumerate(hottest_k) if k <= NEAR_SHARE * min(hottest_k))
    return Rows(
        stride=STRIDES[at], plain_k=hottest_k[0], chosen_k=hottest_k[at],
        longer_share=ends_s[at] / ends_s[0] - 1.0,
    )  # fmt: skip


def left_over_k(
    points_m: NDArray[np.float64], times_s: NDArray[np.float64], *, media: Media, absorbed_j_per_m2: float
) -> NDArray[np.float64]:
    """Return the rise on the glass that every point meets from earlier ones, each having absorbed alike."""
    met_k = np.empty(len(points_m))
    _scan(points_m, times_s, media, absorbed_j_per_m2, met_k)
    return met_k


@njit(cache=True, nogil=True)
def _scan(
    points_m: NDArray[np.float64], times_s: NDArray[np.float64], media: Media, absorbed_j_per_m2: float,
    met_k: NDArray[np.float64],
) -> None:  # fmt: skip
    memory, bath_k = empty_memory(), np.zeros(media.drain.shape[1])
    for n in range(met_k.size):
        met_k[n] = recall_k(memory, media, times_s[n], points_m[n, 0], points_m[n, 1], bath_k)
        remember(memory, 0.0, absorbed_j_per_m2, times_s[n], points_m[n, 0], points_m[n, 1])
