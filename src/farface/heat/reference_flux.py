"""Count the heat that flows between rings and slabs whose conductivities differ."""

from typing import NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray


class Lattice(NamedTuple):
    """Hold edges, middles and areas of the rings and heights of the slabs, for the kernels."""

    r_edges_m: NDArray[np.float64]
    middle_m: NDArray[np.float64]
    ring_m2: NDArray[np.float64]
    slab_m: NDArray[np.float64]


@njit(cache=True, nogil=True)
def net_flux_w_per_m3(
    rise_k: NDArray[np.float64], conductivity_w_per_m_k: NDArray[np.float64], lattice: Lattice
) -> NDArray[np.float64]:
    """Return what flows into each cell per volume, shape (rings, slabs).

    Between two cells their half widths conduct in series. What leaves one enters the other, so the sum over
    all volumes is zero to rounding; the outer faces let nothing through.
    """
    rings, slabs = rise_k.shape
    net = np.zeros((rings, slabs))
    for i in range(rings - 1):
        edge = lattice.r_edges_m[i + 1]
        for j in range(slabs):
            resistance = (edge - lattice.middle_m[i]) / conductivity_w_per_m_k[i, j]
            resistance += (lattice.middle_m[i + 1] - edge) / conductivity_w_per_m_k[i + 1, j]
            flux = 2.0 * np.pi * edge * (rise_k[i, j] - rise_k[i + 1, j]) / resistance
            net[i, j] -= flux / lattice.ring_m2[i]
            net[i + 1, j] += flux / lattice.ring_m2[i + 1]
    for i in range(rings):
        for j in range(slabs - 1):
            resistance = 0.5 * lattice.slab_m[j] / conductivity_w_per_m_k[i, j]
            resistance += 0.5 * lattice.slab_m[j + 1] / conductivity_w_per_m_k[i, j + 1]
            flux = (rise_k[i, j] - rise_k[i, j + 1]) / resistance
            net[i, j] -= flux / lattice.slab_m[j]
            net[i, j + 1] += flux / lattice.slab_m[j + 1]
    return net
