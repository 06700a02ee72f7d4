"""Solve one implicit step of heat conduction exactly where properties depend on the slab alone.

Then the radius separates: the rings have a fixed set of modes, and each mode is one tridiagonal system over
the slabs. The modes are found once per grid, so a step of any length costs two products of matrices.
"""

from dataclasses import dataclass

import numpy as np
from numba import njit
from numpy.typing import NDArray

from farface.heat.reference_flux import Lattice


@dataclass(frozen=True, slots=True, kw_only=True)
class SlabOperator:
    """Hold conduction L and heat capacity C of slabs, shape (slabs,), and the rings' modes.

    ``to_modes_m`` and ``from_modes_per_m``, shape (rings, rings), carry rings to modes and back;
    ``wave_per_m2`` is the square of each mode's wavenumber.
    """

    capacity_j_per_m3_k: NDArray[np.float64]
    conductivity_w_per_m_k: NDArray[np.float64]
    slab_m: NDArray[np.float64]
    wave_per_m2: NDArray[np.float64]
    to_modes_m: NDArray[np.float64]
    from_modes_per_m: NDArray[np.float64]

    def implicit_w_per_m3(self, step_s: float, inflow_w_per_m3: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return x of (1 - step L/C) x = inflow, all of shape (rings, slabs)."""
        modes = _product(self.to_modes_m, inflow_w_per_m3)
        _solve_modes(
            modes,
            self.wave_per_m2,
            self.capacity_j_per_m3_k,
            self.conductivity_w_per_m_k,
            self.slab_m,
            step_s,
        )
        return _product(self.from_modes_per_m, modes * self.capacity_j_per_m3_k)


def slab_operator(
    lattice: Lattice,
    *,
    capacity_j_per_m3_k: NDArray[np.float64],
    conductivity_w_per_m_k: NDArray[np.float64],
) -> SlabOperator:
    """Find the modes of the rings: eigenvectors of their exchange, made symmetric by roots of their areas."""
    conductance = 2.0 * np.pi * lattice.r_edges_m[1:-1] / np.diff(lattice.middle_m)
    exchange = np.diag(conductance, 1) + np.diag(conductance, -1)
    exchange -= np.diag(exchange.sum(axis=1))
    root = np.sqrt(lattice.ring_m2)
    values, vectors = np.linalg.eigh(exchange / np.outer(root, root))
    return SlabOperator(
        capacity_j_per_m3_k=capacity_j_per_m3_k,
        conductivity_w_per_m_k=conductivity_w_per_m_k,
        slab_m=lattice.slab_m,
        wave_per_m2=-values,
        to_modes_m=np.ascontiguousarray(vectors.T * root),
        from_modes_per_m=np.ascontiguousarray((vectors.T / root).T),
    )


@njit(cache=True, nogil=True)
def _product(left: NDArray[np.float64], right: NDArray[np.float64]) -> NDArray[np.float64]:
    """Multiply two matrices on this thread: a library's threads cost more than they save at this size."""
    product = np.zeros((left.shape[0], right.shape[1]))
    for i in range(left.shape[0]):
        for k in range(left.shape[1]):
            share = left[i, k]
            for j in range(right.shape[1]):
                product[i, j] += share * right[k, j]
    return product


@njit(cache=True, nogil=True)
def _solve_modes(
    modes: NDArray[np.float64],
    wave_per_m2: NDArray[np.float64],
    capacity: NDArray[np.float64],
    conductivity: NDArray[np.float64],
    slab_m: NDArray[np.float64],
    step_s: float,
) -> None:
    """Solve (C + step k q^2) u - step d/dz k du/dz = f for every mode in place, by elimination."""
    slabs = slab_m.size
    between = np.zeros(slabs + 1)
    for j in range(1, slabs):
        between[j] = 2.0 * step_s / (slab_m[j - 1] / conductivity[j - 1] + slab_m[j] / conductivity[j])
    factors = np.empty(slabs)
    for m in range(wave_per_m2.size):
        carried = 0.0
        for j in range(slabs):
            own = capacity[j] + step_s * conductivity[j] * wave_per_m2[m]
            lower, upper = between[j] / slab_m[j], between[j + 1] / slab_m[j]
            earlier = factors[j - 1] if j > 0 else 0.0
            pivot = own + upper + lower * (1.0 - earlier)
            factors[j] = upper / pivot
            carried = _flushed((modes[m, j] + lower * carried) / pivot)
            modes[m, j] = carried
        for j in range(slabs - 2, -1, -1):
            modes[m, j] = _flushed(modes[m, j] + factors[j] * modes[m, j + 1])


@njit(cache=True, nogil=True)
def _flushed(value: float) -> float:
    """Return zero for what is next to nothing: processors are slow with the tiniest of numbers."""
    return value if abs(value) > 1e-200 else 0.0
