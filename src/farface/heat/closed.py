"""Closed forms of heat in half-spaces, for people and for tests of the exact response."""

import math

import numpy as np


def pulse_heating_k(
    *,
    absorption_per_m: float,
    fluence_j_per_m2: float,
    density_kg_per_m3: float,
    heat_capacity_j_per_kg_k: float,
) -> float:
    """Return the rise one pulse leaves in a liquid at its surface, alpha F / (rho c).

    Holds while the pulse is short against diffusion over 1/alpha and the liquid does not boil.
    """
    return absorption_per_m * fluence_j_per_m2 / (density_kg_per_m3 * heat_capacity_j_per_kg_k)


def share_to_glass(
    *, glass_effusivity_j_per_m2_k_sqrt_s: float, liquid_effusivity_j_per_m2_k_sqrt_s: float
) -> float:
    """Return the share of heat set free at the face that enters the glass, e_g / (e_g + e_l)."""
    glass = glass_effusivity_j_per_m2_k_sqrt_s
    return glass / (glass + liquid_effusivity_j_per_m2_k_sqrt_s)


def steady_gaussian_rise_k(*, power_w: float, conductivity_w_per_m_k: float, radius_m: float) -> float:
    """Return the steady rise at the centre of a Gaussian heat source on a half-space [carslaw1959].

    P / (sqrt(2 pi) k w) with w the 1/e2 radius; the misreading of w as the 1/e radius is sqrt(2) off.
    """
    return power_w / (math.sqrt(2.0 * math.pi) * conductivity_w_per_m_k * radius_m)


def accumulation_sum(pulses: int, *, dimensions: int) -> float:
    """Return sum_{n=1}^{N} n^(-d/2), the left-over heat of N equal pulses in units of one [weber2014]."""
    return float((np.arange(1, pulses + 1, dtype=np.float64) ** (-dimensions / 2.0)).sum())


def diffusion_length_m(*, diffusivity_m2_per_s: float, time_s: float) -> float:
    """Return sqrt(4 D t), how far heat spreads in a time."""
    return math.sqrt(4.0 * diffusivity_m2_per_s * time_s)
