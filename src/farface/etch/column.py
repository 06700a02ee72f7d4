"""What a pulse does to the heated column of bath: how hot, whether it boils, how large a cavity opens.

A pulse adds T0 = alpha F / (rho c) to what earlier pulses left. A vapour cavity opens when the hottest
point passes the rise needed, which scatters log-normally from pulse to pulse: ignition is a hazard.
"""

import math
from typing import Final, NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

from farface.cavity.wall import clear_share, life_of_same_volume
from farface.heat.drain import PROBES_ZETA, drain_at
from farface.materials.bubble_life import life_s, radius_from_energy_m

# Earlier points on the line, and earlier lines, whose heat is added; later ones add below one percent.
POINTS_BACK: Final = 12
LINES_BACK: Final = 6
# Odds below this are none.
LEAST_ODDS: Final = 1e-6


class Liquid(NamedTuple):
    """Hold the liquid for the kernels: SI values of the bath's water and the state above it."""

    heat_capacity_j_per_m3_k: float
    diffusivity_m2_per_s: float
    density_kg_per_m3: float
    overpressure_pa: float
    saturation_rise_k: float


class Firing(NamedTuple):
    """Hold how points are fired: rate and number of pulses, pitch, pause between points, length of a line."""

    rate_hz: float
    pulses: int
    pitch_m: float
    jump_s: float
    line_m: float


class Column(NamedTuple):
    """Hold the heated column under one draw: its width and depth, when it boils, what feeds bubbles."""

    spot_radius_m: float
    absorption_per_m: float
    rise_needed_k: float
    dispersion: float
    bubble_share: float


class Shares(NamedTuple):
    """Hold what earlier pulses leave at the probes of `farface.heat.drain`, as shares of one pulse's T0.

    ``dwell``, shape (pulses, probe), is left by a point's own pulses before each next one; ``neighbours``,
    shape (probe,), by earlier points, none of which ignited; ``fresh`` is what a pulse itself adds.
    """

    dwell: NDArray[np.float64]
    neighbours: NDArray[np.float64]
    fresh: NDArray[np.float64]


class Ages(NamedTuple):
    """Hold what a pulse does, by how many pulses its column has had before; each of shape (pulses,).

    ``hazard`` is the odds that it ignites; the others tell of the ignition, should it come.
    """

    hazard: NDArray[np.float64]
    log_overshoot: NDArray[np.float64]
    below_m: NDArray[np.float64]
    radius_m: NDArray[np.float64]
    life_s: NDArray[np.float64]


@njit(cache=True, nogil=True)
def column_shares(firing: Firing, column: Column, liquid: Liquid, drain: NDArray[np.float64]) -> Shares:
    """Return what earlier pulses leave; about 2 us.

    Earlier points and lines are taken as lumps: each point's pulses at its middle time, each line as a
    continuous one. Their radial fall-off is the spread Gaussian of the liquid alone.
    """
    probes = PROBES_ZETA.size
    log_alpha_w = math.log(column.absorption_per_m * column.spot_radius_m)
    to_tau = liquid.diffusivity_m2_per_s / column.spot_radius_m**2
    dwell = np.zeros((firing.pulses, probes))
    for n in range(1, firing.pulses):
        tau = n / firing.rate_hz * to_tau
        for i in range(probes):
            share = drain_at(drain, log_alpha_w, i, math.log(tau)) / (1.0 + 8.0 * tau)
            dwell[n, i] = dwell[n - 1, i] + share
    neighbours = np.zeros(probes)
    point_s = firing.pulses / firing.rate_hz + firing.jump_s
    line_s = firing.line_m / firing.pitch_m * point_s
    step = firing.pitch_m / column.spot_radius_m
    for back in range(1, POINTS_BACK + 1):
        tau = back * point_s * to_tau
        spread = 1.0 + 8.0 * tau
        falloff = firing.pulses / spread * math.exp(-2.0 * (back * step) ** 2 / spread)
        for i in range(probes):
            neighbours[i] += falloff * drain_at(drain, log_alpha_w, i, math.log(tau))
    for back in range(1, LINES_BACK + 1):
        tau = back * line_s * to_tau
        spread = 1.0 + 8.0 * tau
        falloff = math.exp(-2.0 * (back * step) ** 2 / spread)
        falloff *= firing.pulses / step * math.sqrt(0.5 * math.pi / spread)
        for i in range(probes):
            neighbours[i] += falloff * drain_at(drain, log_alpha_w, i, math.log(tau))
    fresh = np.exp(-column.absorption_per_m * column.spot_radius_m * PROBES_ZETA)
    return Shares(dwell, neighbours, fresh)


@njit(cache=True, nogil=True)
def ages(heating_k: float, left: float, column: Column, shares: Shares, liquid: Liquid) -> Ages:
    """Return what each pulse of a column does; ``left`` weighs the heat that earlier points left."""
    count = shares.dwell.shape[0]
    found = Ages(np.zeros(count), np.zeros(count), np.zeros(count), np.zeros(count), np.zeros(count))
    cold = 1.0
    for age in range(count):
        if cold < LEAST_ODDS:
            break
        hottest, depth = _hottest(left, age, shares)
        over, hazard = _overshoot(heating_k * hottest / column.rise_needed_k, column.dispersion)
        found.hazard[age] = hazard
        cold *= 1.0 - hazard
        if hazard == 0.0:
            continue
        found.log_overshoot[age] = over
        found.below_m[age], found.radius_m[age], found.life_s[age] = burst_of(
            over, depth * column.spot_radius_m, column, liquid
        )
    return found


@njit(cache=True, nogil=True)
def _overshoot(ratio: float, dispersion: float) -> tuple[float, float]:
    """Return the mean of ln(T / threshold) over the thresholds below T, and the odds that there is one.

    ``ratio`` is T over the median threshold; thresholds are log-normal.
    """
    margin = math.log(ratio) / dispersion
    hazard = normal_cdf(margin)
    if hazard < LEAST_ODDS:
        return 0.0, 0.0
    return max(dispersion * (margin + _normal_density(margin) / hazard), 0.0), hazard


@njit(cache=True, nogil=True)
def _hottest(left: float, age: int, shares: Shares) -> tuple[float, float]:
    """Return the highest rise right after a pulse, in T0, and the depth of that probe in spot radii."""
    best = -1.0
    where = 0.0
    for i in range(PROBES_ZETA.size):
        rise = left * shares.neighbours[i] + shares.dwell[age, i] + shares.fresh[i]
        if rise > best:
            best = rise
            where = PROBES_ZETA[i]
    return best, where


@njit(cache=True, nogil=True)
def burst_of(
    log_overshoot: float, hottest_m: float, column: Column, liquid: Liquid
) -> tuple[float, float, float]:
    """Return how deep a column bursts, and the largest radius and the life of its cavity.

    The cavity opens about the middle of the column; at the glass it is wider and lives longer.
    """
    below = hottest_m + log_overshoot / column.absorption_per_m
    energy = column.bubble_share * column_energy_j(log_overshoot, column, liquid)
    sphere = radius_from_energy_m(energy, liquid.overpressure_pa)
    free_life = life_s(sphere, liquid.density_kg_per_m3, liquid.overpressure_pa)
    standoff = 0.5 * below / max(sphere, 1e-9)
    return below, sphere * clear_share(standoff) ** (-1.0 / 3.0), life_of_same_volume(standoff) * free_life


@njit(cache=True, nogil=True)
def column_energy_j(log_overshoot: float, column: Column, liquid: Liquid) -> float:
    """Return the heat stored above saturation in the superheated column, in joules.

    With T(r, z) = X T_need exp(-2 r^2 / w^2) exp(-alpha z) down to z_s = ln(X) / alpha the integral of
    rho c (T - T_sat) over all T > T_sat closes to (pi w^2 / 2) rho c (T_sat / alpha)
    [e^y - y - y^2 / 2] between y = ln(T_need / T_sat) and y + ln X.
    """
    low = math.log(max(column.rise_needed_k / liquid.saturation_rise_k, 1.0 + 1e-9))
    high = low + log_overshoot
    scale = 0.5 * math.pi * column.spot_radius_m**2 * liquid.heat_capacity_j_per_m3_k
    scale *= liquid.saturation_rise_k / column.absorption_per_m
    return scale * ((math.exp(high) - high - 0.5 * high**2) - (math.exp(low) - low - 0.5 * low**2))


@njit(cache=True, nogil=True)
def normal_cdf(x: float) -> float:
    """Return the standard normal distribution function."""
    return 0.5 * math.erfc(-x / math.sqrt(2.0))


@njit(cache=True, nogil=True)
def _normal_density(x: float) -> float:
    return math.exp(-0.5 * x * x) / math.sqrt(2.0 * math.pi)
