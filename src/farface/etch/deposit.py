"""Follow the absorbing deposit through bursts of pulses, and find where steady etching ends.

The state between bursts is the deposit's optical depth m and the passivation s of the glass. Within a
burst each pulse of peak fluence F meets absorptance A = 1 - exp(-m) and

    F_th = F_th0 max(0, 1 - rise / rise_removal)
    dh   = k max(0, A F - F_th), or k F_th ln(A F / F_th) above threshold
    m   <- (m + g (A F)^2 (1 - s) (1 + rise / rise_gain)) exp(-dh / delta)

where ``rise`` is what earlier pulses of the burst left at the glass under the insulating cavity,
sum_j beta A_j F / (e_g sqrt(pi t_j)) w^2 / (w^2 + 8 D_g t_j). An ignition lays down m_0 before the burst.
A small deposit feeds itself quadratically while removal only takes its share, so the map has a quiet
fixed point at low fluence and none above a fold: that fold is the runaway fluence.
"""

from typing import Final, NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

# Removal per pulse above which the model says 'runaway': an order above the quiet branch's rates and an
# order below those past the fold. An assumption of the model, not a measurement.
RUNAWAY_REMOVAL_M: Final = 1e-6
# Left-over rise that brings the removal threshold to zero, and the one that doubles the deposit's growth.
RISE_REMOVAL_K: Final = 1500.0
RISE_GAIN_K: Final = 500.0
# Past this optical depth more deposit absorbs no more light.
OPAQUE: Final = 8.0
SCAN_FACTOR: Final = 1.2
# A deposit thinner than this absorbs nothing; a threshold of next to nothing must not start the scan at zero.
LEAST_DEPOSIT: Final = 1e-9
# The scan starts at this share of the deposit that a first pulse needs: later pulses of a burst need less.
START_SHARE: Final = 0.6
# The fixed point is found when a burst changes the deposit by less than this share, in at most so many steps.
ROOT_SHARE: Final = 1e-4
ROOT_STEPS: Final = 12
# Passivation and removal of a burst settle on one another in so many rounds.
SKIN_ROUNDS: Final = 2
BISECTIONS: Final = 13
HIGHEST_FLUENCE_J_PER_M2: Final = 3e7
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


@njit(cache=True, nogil=True)
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


@njit(cache=True, nogil=True)
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


@njit(cache=True, nogil=True)
def threshold_left_j_per_m2(rise_k: float, c: Deposit) -> float:
    """Return the threshold in J/m2 on glass that earlier pulses left warmer."""
    return max(c.threshold_j_per_m2 * (1.0 - rise_k / RISE_REMOVAL_K), 0.0)


@njit(cache=True, nogil=True)
def growth_left_m4_per_j2(rise_k: float, c: Deposit) -> float:
    """Return the deposit's growth in m4/J2 on glass that earlier pulses left warmer."""
    return c.growth_m4_per_j2 * (1.0 + rise_k / RISE_GAIN_K)


@njit(cache=True, nogil=True)
def removed_m(absorbed_j_per_m2: float, threshold_j_per_m2: float, c: Deposit) -> float:
    """Return what one pulse removes, by the law of ``c``; a threshold that heat brought to zero is linear."""
    if absorbed_j_per_m2 <= threshold_j_per_m2:
        return 0.0
    if c.law == LOGARITHMIC and threshold_j_per_m2 > 0.0:
        ratio = absorbed_j_per_m2 / threshold_j_per_m2
        return float(c.removal_m3_per_j * threshold_j_per_m2 * np.log(ratio))
    return c.removal_m3_per_j * (absorbed_j_per_m2 - threshold_j_per_m2)


@njit(cache=True, nogil=True)
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


@njit(cache=True, nogil=True)
def passivated(removal_per_pulse_m: float, c: Deposit) -> float:
    """Return the steady passivation, where its growth per pulse meets what removal carries off."""
    carried = 1.0 - np.exp(-removal_per_pulse_m / c.wear_m)
    return c.passivation / (c.passivation + carried) if c.passivation > 0.0 else 0.0


@njit(cache=True, nogil=True)
def settled_burst(
    m: float,
    removal_per_pulse_m: float,
    fluence_j_per_m2: float,
    pulses: int,
    residue_k_m2_per_j: NDArray[np.float64],
    c: Deposit,
    history: NDArray[np.float64],
) -> tuple[float, float]:
    """Run a burst under the passivation that its own removal settles at, from a guess of that removal.

    Returns the deposit after it and the removal per pulse in m.
    """
    after, per_pulse = m, removal_per_pulse_m
    for _ in range(SKIN_ROUNDS):
        s = passivated(per_pulse, c)
        after, removed = burst(m, s, fluence_j_per_m2, pulses, residue_k_m2_per_j, c, history)
        per_pulse = removed / pulses
        if c.passivation <= 0.0:
            break
    return after, per_pulse


@njit(cache=True, nogil=True)
def quiet_state(
    fluence_j_per_m2: float, pulses: int, residue_k_m2_per_j: NDArray[np.float64], c: Deposit
) -> tuple[bool, float, float]:
    """Solve for the quiet fixed point; return (exists, deposit, removal per pulse in m).

    Without one, deposit and removal are those at which it was given up. A fluence that could not remove
    glass even from an opaque deposit counts as quiet with no removal.
    """
    if fluence_j_per_m2 <= c.threshold_j_per_m2:
        return True, 1.0, 0.0
    found, low, high, above, below, per_pulse = _quiet_bracket(
        fluence_j_per_m2, pulses, residue_k_m2_per_j, c
    )
    if not found or low == high or below > 0.0:
        return found, high, per_pulse
    history = np.empty((3, pulses))
    middle = high
    for _ in range(ROOT_STEPS):
        # Growth at the low end and loss at the high one: try where a straight line between them crosses.
        middle = (low * below - high * above) / (below - above)
        after, per_pulse = settled_burst(
            middle, per_pulse, fluence_j_per_m2, pulses, residue_k_m2_per_j, c, history
        )
        if after > middle:
            low, above = middle, after - middle
        else:
            high, below = middle, after - middle
        if abs(after - middle) < ROOT_SHARE * middle:
            break
    return True, middle, per_pulse


@njit(cache=True, nogil=True)
def map_slope(
    m: float, fluence_j_per_m2: float, pulses: int, residue_k_m2_per_j: NDArray[np.float64], c: Deposit
) -> float:
    """Return how much of a small disturbance of the deposit ``m`` a burst leaves: below 1 it dies out."""
    history = np.empty((3, pulses))
    _, per_pulse = settled_burst(m, 0.0, fluence_j_per_m2, pulses, residue_k_m2_per_j, c, history)
    s = passivated(per_pulse, c)
    up, _ = burst(m + 1e-4 * m, s, fluence_j_per_m2, pulses, residue_k_m2_per_j, c, history)
    here, _ = burst(m, s, fluence_j_per_m2, pulses, residue_k_m2_per_j, c, history)
    return (up - here) / (1e-4 * m)


@njit(cache=True, nogil=True)
def _quiet_bracket(
    fluence_j_per_m2: float, pulses: int, residue_k_m2_per_j: NDArray[np.float64], c: Deposit
) -> tuple[bool, float, float, float, float, float]:
    """Bracket the quiet fixed point between two deposits, with what a burst adds to each, and the removal.

    Climbs from below the deposit at which removal begins by ``SCAN_FACTOR`` until a burst leaves less deposit
    than it met. There is none when the removal passes ``RUNAWAY_REMOVAL_M`` first: the first entry says.
    """
    history = np.empty((3, pulses))
    first = -START_SHARE * np.log(1.0 - c.threshold_j_per_m2 / fluence_j_per_m2)
    low = high = max(first, LEAST_DEPOSIT)
    above = below = per_pulse = 0.0
    while high <= OPAQUE:
        after, per_pulse = settled_burst(
            high, per_pulse, fluence_j_per_m2, pulses, residue_k_m2_per_j, c, history
        )
        if per_pulse > RUNAWAY_REMOVAL_M:
            return False, low, high, above, below, per_pulse
        below = after - high
        if below <= 0.0:
            break
        low, above = high, below
        high *= SCAN_FACTOR
    return True, low, high, above, below, per_pulse


@njit(cache=True, nogil=True)
def runaway_fluence_j_per_m2(pulses: int, residue_k_m2_per_j: NDArray[np.float64], c: Deposit) -> float:
    """Return the lowest fluence with no quiet fixed point, by bisection of its logarithm."""
    low = np.log(c.threshold_j_per_m2)
    high = np.log(HIGHEST_FLUENCE_J_PER_M2)
    for _ in range(BISECTIONS):
        middle = 0.5 * (low + high)
        exists, _, _, _, _, _ = _quiet_bracket(np.exp(middle), pulses, residue_k_m2_per_j, c)
        if exists:
            low = middle
        else:
            high = middle
    return float(np.exp(0.5 * (low + high)))
