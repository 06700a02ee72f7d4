"""Stack liquid, glass and what is above on a grid, and tell temperatures and flows in them."""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from farface.heat.reference_flux import Lattice, net_flux_w_per_m3
from farface.heat.reference_grid import Grid
from farface.heat.reference_medium import Medium, air
from farface.heat.reference_solve import SlabOperator, slab_operator


@dataclass(frozen=True, slots=True, kw_only=True)
class Stack:
    """Hold a grid and what fills it; heat is per volume and above the start, both of shape (rings, slabs)."""

    grid: Grid
    liquid: Medium
    glass: Medium
    above: Medium = field(default_factory=air)

    def rise_k(self, heat_j_per_m3: NDArray[np.float64]) -> NDArray[np.float64]:
        """Give the rise of every cell from its heat."""
        rise_k = np.empty_like(heat_j_per_m3)
        for slabs, medium in self._layers():
            rise_k[:, slabs] = medium.rise_from_heat_k(heat_j_per_m3[:, slabs])
        return rise_k

    def inflow_w_per_m3(self, heat_j_per_m3: NDArray[np.float64]) -> NDArray[np.float64]:
        """Give what flows into every cell, with the conductivities as they then are."""
        rise_k = self.rise_k(heat_j_per_m3)
        return net_flux_w_per_m3(rise_k, self._conductivity(rise_k), self._lattice())

    def cold(self) -> SlabOperator:
        """Give the conduction of all materials as they are at the start."""
        at_rest = np.zeros((1, self.grid.z_m.size))
        capacity = np.empty_like(at_rest)
        for slabs, medium in self._layers():
            capacity[:, slabs] = medium.capacity_j_per_m3_k(at_rest[:, slabs])
        return slab_operator(
            self._lattice(),
            capacity_j_per_m3_k=capacity[0],
            conductivity_w_per_m_k=self._conductivity(at_rest)[0],
        )

    def face_rise_k(self, rise_k: NDArray[np.float64]) -> NDArray[np.float64]:
        """Give the rise on the face, shape (rings,), where both half cells beside it pass on the same flux.

        Right after a pulse temperature jumps there: until the cells beside the face have exchanged heat, the
        result is between the two by conductance and says little.
        """
        below = self.grid.liquid.start
        beside = slice(below - 1, below + 1)
        conductance = self._conductivity(rise_k)[:, beside] / np.diff(self.grid.z_edges_m)[beside]
        return np.asarray((conductance * rise_k[:, beside]).sum(axis=1) / conductance.sum(axis=1))

    def beyond_table(self, rise_k: NDArray[np.float64]) -> bool:
        """Tell whether a cell is hotter than what is known of its material."""
        return any(
            medium.ends and bool(rise_k[:, slabs].max() > medium.rise_k[-1])
            for slabs, medium in self._layers()
        )

    def _layers(self) -> tuple[tuple[slice, Medium], ...]:
        grid = self.grid
        return (grid.liquid, self.liquid), (grid.glass, self.glass), (grid.above, self.above)

    def _lattice(self) -> Lattice:
        edges_m = self.grid.r_edges_m
        return Lattice(
            r_edges_m=edges_m,
            middle_m=0.5 * (edges_m[1:] + edges_m[:-1]),
            ring_m2=np.pi * np.diff(edges_m**2),
            slab_m=np.diff(self.grid.z_edges_m),
        )

    def _conductivity(self, rise_k: NDArray[np.float64]) -> NDArray[np.float64]:
        conductivity = np.empty_like(rise_k)
        for slabs, medium in self._layers():
            conductivity[:, slabs] = medium.conductivity_at_w_per_m_k(rise_k[:, slabs])
        return conductivity
