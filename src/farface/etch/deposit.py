"""Follow the absorbing deposit through bursts of pulses.

The state between bursts is the deposit's optical depth m and the passivation s of the glass. Within a
burst each pulse of peak fluence F meets absorptance A = 1 - exp(-m) and

    F_th = F_th0 max(0, 1 - rise / rise_removal)
    dh   = k max(0, A F - F_th), or k F_th0 ln(A F / F_th) above threshold
    m   <- (m + g (A F)^2 (1 - s) (1 + rise / rise_gain)) exp(-dh / delta)

where ``rise`` is what earlier pulses of the burst left at the glass under the insulating cavity,
sum_j beta A_j F / (e_g sqrt(pi t_j)) w^2 / (w^2 + 8 D_g t_j). An ignition lays down m_0 before the burst.
A small deposit feeds itself quadratically while removal only takes its share, so the map has a quiet
fixed point at low fluence and none above a fold; `farface.etch.steady` solves for both.
"""

import math
from typing import Final, NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

# Left-over rise that brings the removal threshold to zero, and the one that doubles the deposit's growth.
RISE_REMOVAL_K: Final = 1500.0
RISE_GAIN_K: Final = 500.0
# Heat lowers the threshold of the logarithmic law no further: at zero it would remove without bound.
LEAST_THRESHOLD_SHARE: Final = 1e-30
# How removal grows above threshold. Linear is what three published sets show
# [zimmer2007, hopp2007, vass2013]; both start with the same slope.
LINEAR: Final = 0
LOGARITHMIC: Final = 1
REMOVAL_LAWS: Final = {"linear": LINEAR, "logarithmic": LOGARITHMIC}


class Deposit(NamedTuple):
    """Hold the constants of the deposit map for one draw of the unknowns (a tuple, so that kernels take it).

    ``removal_m3_per_j`` is k, ``threshold_j_per_m2`` F_th0, ``growth_m4_per_j2`` g, ``wear_m`` delta,
    ``seed`` m_0, ``passivation`` the growth of s per etching pulse, ``law`` a value of `REMOVAL_LAWS`.
    """

    removal_m3_per_j: float
    threshold_j_per_m2: float
    growth_m4_per_j2: float
    wear_m: float
    seed: float
    passivation: float
    law: int = LINEAR


@njit(cache=True, nogil=True, error_model="numpy")
def residual_heat_k_m2_per_j(
    pulses: int,
    period_s: float,
    share: float,
    effusivity_j_per_m2_k_sqrt_s: float,
    spot_radius_m: float,
    diffusivity_m2_per_s: float,
) -> NDArray[np.float64]:
    """Return the rise in K per J/m2 absorbed that a pulse leaves 1, 2, .. periods later, shape (pulses,)."""
    left = np.empty(pulses)
    for lag in range(pulses):
        time_s = (lag + 1) * period_s
        spread = spot_radius_m**2 / (spot_radius_m**2 + 8.0 * diffusivity_m2_per_s * time_s)
        left[lag] = share / (effusivity_j_per_m2_k_sqrt_s * np.sqrt(np.pi * time_s)) * spread
    return left


@njit(cache=True, nogil=True, error_model="numpy")
def burst(
    m: float,
    s: float,
    fluence_j_per_m2: float,
    pulses: int,
    residue_k_m2_per_j: NDArray[np.float64],
    c: Deposit,
    history: NDArray[np.float64],
) -> tuple[float, float]:
    """Run one burst from deposit ``m``; return the deposit after it and the removal in m.

    ``history``, shape (3, pulses), receives per pulse the fluence absorbed, the deposit after, the removal.
    """
    m += c.seed
    removed = 0.0
    for n in range(pulses):
        rise = 0.0
        for j in range(n):
            rise += residue_k_m2_per_j[n - 1 - j] * history[0, j]
        af = fluence_j_per_m2 * (1.0 - np.exp(-m))
        dh = removed_m(af, threshold_left_j_per_m2(rise, c), c)
        m = (m + growth_left_m4_per_j2(rise, c) * (1.0 - s) * af * af) * np.exp(-dh / c.wear_m)
        removed += dh
        history[0, n], history[1, n], history[2, n] = af, m, dh
    return m, removed


@njit(cache=True, nogil=True, error_model="numpy")
def threshold_left_j_per_m2(rise_k: float, c: Deposit) -> float:
    """Return the threshold in J/m2 on glass that earlier pulses left warmer."""
    least = LEAST_THRESHOLD_SHARE if c.law == LOGARITHMIC else 0.0
    return c.threshold_j_per_m2 * max(1.0 - rise_k / RISE_REMOVAL_K, least)


@njit(cache=True, nogil=True, error_model="numpy")
def growth_left_m4_per_j2(rise_k: float, c: Deposit) -> float:
    """Return the deposit's growth in m4/J2 on glass that earlier pulses left warmer."""
    return c.growth_m4_per_j2 * (1.0 + rise_k / RISE_GAIN_K)


@njit(cache=True, nogil=True, error_model="numpy")
def removed_m(absorbed_j_per_m2: float, threshold_j_per_m2: float, c: Deposit) -> float:
    """Return what one pulse removes, by the law of ``c``, above a threshold that heat may have lowered."""
    if absorbed_j_per_m2 <= threshold_j_per_m2:
        return 0.0
    if c.law == LOGARITHMIC:
        ratio = absorbed_j_per_m2 / threshold_j_per_m2
        return float(c.removal_m3_per_j * c.threshold_j_per_m2 * np.log(ratio))
    return c.removal_m3_per_j * (absorbed_j_per_m2 - threshold_j_per_m2)


@njit(cache=True, nogil=True, error_model="numpy")
def stamp_fullness(threshold_j_per_m2: float, absorbed_j_per_m2: float, law: int) -> float:
    """Return the volume of one pulse's dent over that of a Gaussian of equal depth and spot radius.

    With c the threshold over the absorbed peak, exp(-2 r^2 / w^2) under the linear law leaves
    (1 - c + c ln c) / (1 - c) of peak x pi w^2 / 2, under the logarithmic one ln(1/c) / 2.
    """
    if absorbed_j_per_m2 <= threshold_j_per_m2:
        return 0.0
    c = max(threshold_j_per_m2 / absorbed_j_per_m2, 1e-12)
    if law == LOGARITHMIC:
        return float(-0.5 * np.log(c))
    return float((1.0 - c + c * np.log(c)) / (1.0 - c))


@njit(cache=True, nogil=True, error_model="numpy")
def passivated_with_slope(removal_per_pulse_m: float, c: Deposit) -> tuple[float, float]:
    """Return the steady passivation, and its derivative by the logarithm of the removal."""
    if c.passivation <= 0.0:
        return 0.0, 0.0
    carried = -math.expm1(-removal_per_pulse_m / c.wear_m)
    skin = c.passivation / (c.passivation + carried)
    return skin, -skin / (c.passivation + carried) * (1.0 - carried) * removal_per_pulse_m / c.wear_m
