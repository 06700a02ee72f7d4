"""Give water on its line of saturation: pressure, both densities, latent heat, surface tension.

The equations hold from the triple point to the critical point; outside they raise `OutOfRange`. A bath is a
solution: dissolved salt lowers the pressure and raises the density and the surface tension by a few per cent
at 1 mol/L, which is left out.
"""

import math
from typing import Final

from farface.kernel import OutOfRange

TRIPLE_K: Final = 273.16
CRITICAL_K: Final = 647.096
CRITICAL_PA: Final = 22.064e6
CRITICAL_KG_PER_M3: Final = 322.0
MOLAR_KG_PER_MOL: Final = 18.015268e-3

# Pairs of coefficient and exponent, in 1 - T/T_c [iapws_sr1_86].
_PRESSURE: Final = (
    (-7.85951783, 1.0), (1.84408259, 1.5), (-11.7866497, 3.0), (22.6807411, 3.5), (-15.9618719, 4.0),
    (1.80122502, 7.5),
)  # fmt: skip
_LIQUID: Final = (
    (1.99274064, 1 / 3), (1.09965342, 2 / 3), (-0.510839303, 5 / 3), (-1.75493479, 16 / 3),
    (-45.5170352, 43 / 3), (-6.74694450e5, 110 / 3),
)  # fmt: skip
_VAPOUR: Final = (
    (-2.03150240, 2 / 6), (-2.68302940, 4 / 6), (-5.38626492, 8 / 6), (-17.2991605, 18 / 6),
    (-44.7586581, 37 / 6), (-63.9201063, 71 / 6),
)  # fmt: skip


def pressure_pa(temperature_k: float) -> float:
    """Give the pressure of saturation, ln(p/p_c) = T_c/T sum a x^e with x = 1 - T/T_c [iapws_sr1_86]."""
    series = _series(_PRESSURE, _below_critical(temperature_k))
    return CRITICAL_PA * math.exp(CRITICAL_K / temperature_k * series)


def pressure_slope_pa_per_k(temperature_k: float) -> float:
    """Give dp/dT along the line of saturation, the derivative of `pressure_pa`."""
    x = _below_critical(temperature_k)
    by_x = float(sum(coefficient * power * x ** (power - 1.0) for coefficient, power in _PRESSURE))
    log_slope = -(CRITICAL_K / temperature_k * _series(_PRESSURE, x) + by_x) / temperature_k
    return pressure_pa(temperature_k) * log_slope


def liquid_density_kg_per_m3(temperature_k: float) -> float:
    """Give the density of the saturated liquid, rho_c (1 + sum b x^e) [iapws_sr1_86]."""
    return CRITICAL_KG_PER_M3 * (1.0 + _series(_LIQUID, _below_critical(temperature_k)))


def vapour_density_kg_per_m3(temperature_k: float) -> float:
    """Give the density of the saturated vapour, rho_c exp(sum c x^e) [iapws_sr1_86]."""
    return CRITICAL_KG_PER_M3 * math.exp(_series(_VAPOUR, _below_critical(temperature_k)))


def latent_j_per_kg(temperature_k: float) -> float:
    """Give the heat of evaporation by Clapeyron's relation, T (1/rho_v - 1/rho_l) dp/dT.

    Meets IAPWS-95 within 2e-4 up to 600 K; that is what the vapour's density is good for.
    """
    expansion = 1.0 / vapour_density_kg_per_m3(temperature_k) - 1.0 / liquid_density_kg_per_m3(temperature_k)
    return temperature_k * expansion * pressure_slope_pa_per_k(temperature_k)


def surface_tension_n_per_m(temperature_k: float) -> float:
    """Give the surface tension, 235.8e-3 x^1.256 (1 - 0.625 x) with x = 1 - T/T_c [iapws_r1_76].

    The release states an uncertainty of about 1 % near 570 K; the coefficients are quoted from memory.
    """
    x = _below_critical(temperature_k)
    return float(235.8e-3 * x**1.256 * (1.0 - 0.625 * x))


def _series(terms: tuple[tuple[float, float], ...], x: float) -> float:
    return float(sum(coefficient * x**power for coefficient, power in terms))


def _below_critical(temperature_k: float) -> float:
    """Return 1 - T/T_c; `OutOfRange` outside the liquid's range."""
    if not TRIPLE_K <= temperature_k <= CRITICAL_K:
        raise OutOfRange(
            f"temperature is {temperature_k:.2f} K, but IAPWS gives saturated water from {TRIPLE_K} to "
            f"{CRITICAL_K} K. Choose a temperature in that range."
        )
    return 1.0 - temperature_k / CRITICAL_K
