"""Follow Rayleigh's collapse: how a bubble's life and radius hang together."""

import math
from typing import Final

import numpy as np
from numpy.typing import NDArray

RAYLEIGH_FACTOR: Final = math.sqrt(math.pi / 6.0) * math.gamma(5.0 / 6.0) / math.gamma(4.0 / 3.0)
WATER_KG_PER_M3: Final = 998.2
DRIVING_PA: Final = 98_986.0  # 1 atm less the vapour pressure of water at 20 C


def rayleigh_life_s(
    radius_max_m: float, *, density_kg_per_m3: float = WATER_KG_PER_M3, pressure_pa: float = DRIVING_PA
) -> float:
    """Compute a bubble's life from its largest radius.

    life = 2 x 0.9146813565 R_max sqrt(rho / dp): growth as long as collapse. ``pressure_pa`` is the
    pressure of the liquid less that in the bubble. Leaves out the wall, which lengthens a life by about
    0.2 R_max / distance, gas, viscosity and surface tension [rayleigh1917].
    """
    return 2.0 * RAYLEIGH_FACTOR * radius_max_m * math.sqrt(density_kg_per_m3 / pressure_pa)


def rayleigh_radius_m(
    life_s: float, *, density_kg_per_m3: float = WATER_KG_PER_M3, pressure_pa: float = DRIVING_PA
) -> float:
    """Compute the largest radius of a bubble from its life; the inverse of `rayleigh_life_s`."""
    return life_s / rayleigh_life_s(1.0, density_kg_per_m3=density_kg_per_m3, pressure_pa=pressure_pa)


def radius_share(phase: NDArray[np.float64]) -> NDArray[np.float64]:
    """Compute R / R_max over a bubble's life, ``phase`` running from 0 to 1; zero outside.

    Exact for an empty cavity: with x = (R / R_max)^3 the time from the largest radius, as a share of half
    the life, is 1 - I_x(5/6, 1/2), the regularised incomplete beta function. Growth is collapse run
    backwards. Leaves out vapour and gas, hence rebounds, viscosity, surface tension and the wall
    [rayleigh1917].
    """
    from scipy.special import betaincinv

    from_middle = np.abs(2.0 * np.asarray(phase, dtype=np.float64) - 1.0)
    return np.asarray(np.cbrt(betaincinv(5.0 / 6.0, 0.5, np.clip(1.0 - from_middle, 0.0, 1.0))))
