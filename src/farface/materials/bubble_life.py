"""Relate size, life and energy of a vapour bubble in a liquid, after Rayleigh."""

import math
from typing import Final

import numpy as np
from numba import njit
from numpy.typing import NDArray

# sqrt(pi/6) Gamma(5/6) / Gamma(4/3): collapse time over R sqrt(rho / dp) of an empty sphere [rayleigh1917].
COLLAPSE_FACTOR: Final = math.sqrt(math.pi / 6.0) * math.gamma(5.0 / 6.0) / math.gamma(4.0 / 3.0)

# Water at 20 C under 1 atm, for a bath of which no more is known.
WATER_KG_PER_M3: Final = 998.2
WATER_OVERPRESSURE_PA: Final = 98_986.0  # 1 atm less the vapour's pressure


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


def radius_share(phase: NDArray[np.float64]) -> NDArray[np.float64]:
    """Compute R / R_max over a bubble's life, ``phase`` running from 0 to 1; zero outside.

    Exact for an empty cavity: with x = (R / R_max)^3 the time from the largest radius, as a share of half
    the life, is 1 - I_x(5/6, 1/2), the regularised incomplete beta function. Growth is collapse run
    backwards. Leaves out what `life_s` does, hence rebounds [rayleigh1917].
    """
    from scipy.special import betaincinv

    from_middle = np.abs(2.0 * np.asarray(phase, dtype=np.float64) - 1.0)
    return np.asarray(np.cbrt(betaincinv(5.0 / 6.0, 0.5, np.clip(1.0 - from_middle, 0.0, 1.0))))
