"""Size and life of a vapour cavity from its energy, after Rayleigh."""

import math
from typing import Final

from numba import njit

# sqrt(pi/6) Gamma(5/6) / Gamma(4/3): collapse time over R sqrt(rho / dp) of an empty sphere [rayleigh1917].
COLLAPSE_FACTOR: Final = math.sqrt(math.pi / 6.0) * math.gamma(5.0 / 6.0) / math.gamma(4.0 / 3.0)


@njit(cache=True, nogil=True)
def radius_from_energy_m(energy_j: float, overpressure_pa: float) -> float:
    """Return the largest radius of a spherical cavity, from E = (4/3) pi R^3 dp [rayleigh1917]."""
    return float((3.0 * energy_j / (4.0 * math.pi * overpressure_pa)) ** (1.0 / 3.0))


@njit(cache=True, nogil=True)
def energy_from_radius_j(radius_m: float, overpressure_pa: float) -> float:
    """Return the energy of a spherical cavity at its largest, (4/3) pi R^3 dp [rayleigh1917]."""
    return 4.0 / 3.0 * math.pi * radius_m**3 * overpressure_pa


@njit(cache=True, nogil=True)
def life_s(radius_m: float, density_kg_per_m3: float, overpressure_pa: float) -> float:
    """Return growth plus collapse, 2 x 0.9147 R sqrt(rho / dp) [rayleigh1917].

    Leaves out vapour and gas inside, viscosity, surface tension and walls; a hemisphere on an ideal wall
    lives as long as the sphere of the same radius.
    """
    return 2.0 * COLLAPSE_FACTOR * radius_m * math.sqrt(density_kg_per_m3 / overpressure_pa)


@njit(cache=True, nogil=True)
def radius_from_life_m(cavity_life_s: float, density_kg_per_m3: float, overpressure_pa: float) -> float:
    """Return the largest radius of a cavity that lives ``cavity_life_s`` from growth to collapse."""
    return cavity_life_s / (2.0 * COLLAPSE_FACTOR * math.sqrt(density_kg_per_m3 / overpressure_pa))
