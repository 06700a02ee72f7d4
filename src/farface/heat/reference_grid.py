"""Lay rings and slabs around a spot on the face, fine where heat is young and coarse where it is old."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True, slots=True, kw_only=True)
class Grid:
    """Hold the edges of rings, shape (rings + 1,) from 0, and of slabs, (slabs + 1,), rising through 0.

    Slabs below 0 lie in the glass and what is above it, those beyond 0 in the liquid. ``glass_m`` is the
    thickness of the glass; one of the edges is at minus that.
    """

    r_edges_m: NDArray[np.float64]
    z_edges_m: NDArray[np.float64]
    glass_m: float

    @property
    def r_m(self) -> NDArray[np.float64]:
        """Give the radius where the value of every ring belongs, whose square is the mean over the ring.

        A temperature is smooth in r^2, so there it differs least from its mean.
        """
        return np.sqrt(0.5 * (self.r_edges_m[1:] ** 2 + self.r_edges_m[:-1] ** 2))

    @property
    def z_m(self) -> NDArray[np.float64]:
        """Give the middle depth of every slab, positive into the liquid."""
        return 0.5 * (self.z_edges_m[1:] + self.z_edges_m[:-1])

    @property
    def volume_m3(self) -> NDArray[np.float64]:
        """Give the volume of every cell, shape (rings, slabs)."""
        return np.outer(np.pi * np.diff(self.r_edges_m**2), np.diff(self.z_edges_m))

    @property
    def liquid(self) -> slice:
        """Give the slabs that hold liquid."""
        return slice(int(np.searchsorted(self.z_edges_m, 0.0)), None)

    @property
    def glass(self) -> slice:
        """Give the slabs that hold glass."""
        return slice(int(np.searchsorted(self.z_edges_m, -self.glass_m)), self.liquid.start)

    @property
    def above(self) -> slice:
        """Give the slabs that hold what is above the glass; none where the glass fills the grid."""
        return slice(0, self.glass.start)


def spot_grid(
    *,
    radius_m: float,
    finest_m: float,
    liquid_m: float,
    glass_m: float,
    wide_m: float,
    above_m: float = 0.0,
    cells: int = 64,
) -> Grid:
    """Grade ``cells`` rings and as many slabs of liquid and of glass about a spot.

    Rings start at a share 6 / ``cells`` of the spot radius, slabs at ``finest_m`` x 64 / ``cells``, so that
    doubling ``cells`` halves every cell. For 1e-3 of the peak a time t after a pulse ``finest_m`` should be
    under sqrt(4 D t) / 8, and each extent over 4 sqrt(4 D t) of the longest time, ``liquid_m`` over 6 / alpha
    too. Above the glass a quarter as many slabs start at a hundredth of ``above_m``.
    """
    finest = finest_m * 64 / cells
    rings = _graded(wide_m, first=6.0 * radius_m / cells, count=cells)
    below = _graded(liquid_m, first=finest, count=cells)
    glass = _graded(glass_m, first=finest, count=cells)
    parts = [-glass[:0:-1], below]
    if above_m > 0.0:
        above = _graded(above_m, first=above_m * 0.64 / cells, count=cells // 4)
        parts.insert(0, -glass_m - above[:0:-1])
    return Grid(r_edges_m=rings, z_edges_m=np.concatenate(parts), glass_m=glass_m)


def _graded(length: float, *, first: float, count: int) -> NDArray[np.float64]:
    """Return ``count`` cells over a length whose edges follow sinh, the first of them ``first`` wide."""
    from scipy.optimize import brentq  # late: 0.6 s to import

    uniform = np.linspace(0.0, 1.0, count + 1)
    if first * count >= length:
        return length * uniform

    def excess(bend: float) -> float:
        return math.log(length / first) + math.log(math.sinh(bend / count) / math.sinh(bend))

    bend = float(brentq(excess, 1e-6, 300.0))
    edges = length * np.sinh(bend * uniform) / math.sinh(bend)
    edges[-1] = length
    return np.asarray(edges)
