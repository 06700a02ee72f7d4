"""Tell at which temperature clean water boils of itself: classical theory of homogeneous nucleation.

Vapour nuclei form at the rate

    J = N sqrt(2 s / (pi m)) exp(-16 pi s^3 / (3 k T (p_b - p)^2))

with N molecules of mass m in a volume, s the surface tension and p_b the pressure inside a nucleus
[blander1975, skripov1974]. J grows by a factor of 50 to 300 a kelvin, so the limit hardly depends on what
J is asked for. Walls, dissolved gas, salt, deposit and particles offer sites where boiling starts earlier:
the bath of a bench stays below the limit given here, by an amount that only its own films can tell.
"""

import math
from collections.abc import Callable
from typing import Final, Literal

from farface.kernel import ATMOSPHERE_PA, AVOGADRO_PER_MOL, BOLTZMANN_J_PER_K, OutOfRange
from farface.materials.water_saturation import (
    CRITICAL_K,
    MOLAR_KG_PER_MOL,
    liquid_density_kg_per_m3,
    pressure_pa,
    surface_tension_n_per_m,
    vapour_density_kg_per_m3,
)

Inside = Literal["poynting", "delta", "saturated"]
MOLECULE_KG: Final = MOLAR_KG_PER_MOL / AVOGADRO_PER_MOL
# Where a limit is looked for: below, no lifetime would suffice; above, a nucleus has but a few molecules.
_COLDEST_K: Final = 500.0
_HOTTEST_K: Final = CRITICAL_K - 20.0
_TO_K: Final = 1e-9


def _poynting_pa(temperature_k: float, liquid_pa: float) -> float:
    saturated_pa = pressure_pa(temperature_k)
    molecule_m3 = MOLECULE_KG / liquid_density_kg_per_m3(temperature_k)
    stretch = (saturated_pa - liquid_pa) * molecule_m3 / (BOLTZMANN_J_PER_K * temperature_k)
    return saturated_pa * math.exp(-stretch)


def _delta_pa(temperature_k: float, liquid_pa: float) -> float:
    thinness = vapour_density_kg_per_m3(temperature_k) / liquid_density_kg_per_m3(temperature_k)
    delta = 1.0 - thinness + 0.5 * thinness**2
    return liquid_pa + delta * (pressure_pa(temperature_k) - liquid_pa)


def _saturated_pa(temperature_k: float, _liquid_pa: float) -> float:
    return pressure_pa(temperature_k)


INSIDE: Final[dict[Inside, Callable[[float, float], float]]] = {
    "poynting": _poynting_pa,
    "delta": _delta_pa,
    "saturated": _saturated_pa,
}


def log_nucleation(
    temperature_k: float, *, liquid_pa: float = ATMOSPHERE_PA, inside: Inside = "poynting"
) -> float:
    """Give the natural logarithm of J in nuclei /m3/s.

    ``inside`` names the pressure in a nucleus: "poynting" is p_sat exp(-(p_sat - p) v_l / (k T)), as
    equilibrium with a liquid below its saturation pressure asks, with v_l that of the saturated liquid;
    "delta" its expansion p + (1 - q + q^2/2)(p_sat - p), q = rho_v/rho_l, 0.5 K higher; "saturated" leaves
    the correction out, 1.2 K lower. All of them treat a nucleus of some hundred molecules as a smooth drop
    of vapour with the surface tension of a flat face.
    """
    tension = surface_tension_n_per_m(temperature_k)
    driving_pa = INSIDE[inside](temperature_k, liquid_pa) - liquid_pa
    if driving_pa <= 0.0:
        return -math.inf
    molecules = liquid_density_kg_per_m3(temperature_k) / MOLECULE_KG
    barrier = 16.0 * math.pi * tension**3 / (3.0 * driving_pa**2) / (BOLTZMANN_J_PER_K * temperature_k)
    return math.log(molecules * math.sqrt(2.0 * tension / (math.pi * MOLECULE_KG))) - barrier


def superheat_limit_k(
    *, rate_per_m3_s: float, liquid_pa: float = ATMOSPHERE_PA, inside: Inside = "poynting"
) -> float:
    """Give the temperature at which nuclei form at a rate J, 575.7 to 578.1 K for 1e6 to 1e12 /m3/s at 1 atm.

    Raises `OutOfRange` when no temperature from 500 K to 20 K below the critical point has that rate.
    """
    from scipy.optimize import brentq  # late: 0.6 s to import

    wanted = math.log(rate_per_m3_s)

    def excess(temperature_k: float) -> float:
        return max(log_nucleation(temperature_k, liquid_pa=liquid_pa, inside=inside), -1e6) - wanted

    if not excess(_COLDEST_K) < 0.0 < excess(_HOTTEST_K):
        raise OutOfRange(
            f"a rate of {rate_per_m3_s:.1e} nuclei /m3/s is reached nowhere between {_COLDEST_K:g} and "
            f"{_HOTTEST_K:g} K at {liquid_pa:.3g} Pa. Choose a rate between 1 and 1e30 /m3/s."
        )
    return float(brentq(excess, _COLDEST_K, _HOTTEST_K, xtol=_TO_K))


def rate_when_held_per_m3_s(*, volume_m3: float, waiting_s: float) -> float:
    """Give the J at which a hot volume, held for a time, boils with even odds: J V t = ln 2."""
    return math.log(2.0) / (volume_m3 * waiting_s)


def limit_when_heated_k(
    *,
    heating_k_per_s: float,
    volume_m3: float,
    liquid_pa: float = ATMOSPHERE_PA,
    inside: Inside = "poynting",
) -> float:
    """Give the temperature by which a volume heated steadily has boiled with even odds.

    The nuclei met on the way up are the integral of J V dT / heating = ln 2. J grows as exp(b T) over the
    last kelvin, so the integral is J V / (b heating): the same as being held at T for 1/(b heating), the
    time in which J grows e-fold. Three rounds settle b.
    """
    temperature_k = superheat_limit_k(rate_per_m3_s=1e12, liquid_pa=liquid_pa, inside=inside)
    for _ in range(3):
        steepness_per_k = log_nucleation(temperature_k + 0.5, liquid_pa=liquid_pa, inside=inside)
        steepness_per_k -= log_nucleation(temperature_k - 0.5, liquid_pa=liquid_pa, inside=inside)
        held_s = 1.0 / (steepness_per_k * heating_k_per_s)
        rate = rate_when_held_per_m3_s(volume_m3=volume_m3, waiting_s=held_s)
        temperature_k = superheat_limit_k(rate_per_m3_s=rate, liquid_pa=liquid_pa, inside=inside)
    return temperature_k
