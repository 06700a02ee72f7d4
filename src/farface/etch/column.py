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
# Where the standard normal distribution function reaches those odds.
LEAST_MARGIN: Final = -4.753424


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


class Boiling(NamedTuple):
    """Hold what bursts of one column share: the integral over its heat, and how energy becomes a cavity.

    ``scale_j`` is (pi w^2 / 2) rho c T_sat / alpha, ``low`` y at the rise needed, ``needed_ratio`` its
    exponential, ``bracket`` the bracket of `column_energy_j` there; then a cavity's R^3 per joule and its
    life per metre of R.
    """

    scale_j: float
    low: float
    needed_ratio: float
    bracket: float
    volume_m3_per_j: float
    life_s_per_m: float


@njit(cache=True, nogil=True, error_model="numpy")
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


@njit(cache=True, nogil=True, error_model="numpy")
def room_for_ages(pulses: int) -> Ages:
    """Return room for what up to so many pulses do."""
    return Ages(np.zeros(pulses), np.zeros(pulses), np.zeros(pulses), np.zeros(pulses), np.zeros(pulses))


@njit(cache=True, nogil=True, error_model="numpy")
def ages(heating_k: float, left: float, column: Column, shares: Shares, liquid: Liquid) -> Ages:
    """Return what each pulse of a column does; ``left`` weighs the heat that earlier points left."""
    found = room_for_ages(shares.dwell.shape[0])
    fill_ages(found, heating_k, left, column, shares, boiling(column, liquid))
    return found


@njit(cache=True, nogil=True, error_model="numpy")
def fill_ages(
    found: Ages, heating_k: float, left: float, column: Column, shares: Shares, boil: Boiling
) -> None:
    """Fill in what each pulse of a column does, as `ages` returns it. About 80 ns a pulse that may ignite."""
    found.hazard[:] = 0.0
    cold = 1.0
    for age in range(shares.dwell.shape[0]):
        if cold < LEAST_ODDS:
            break
        hottest, depth = _hottest(left, age, shares)
        over, hazard = _overshoot(heating_k * hottest / column.rise_needed_k, column.dispersion)
        if hazard == 0.0:
            continue
        found.hazard[age] = hazard
        cold *= 1.0 - hazard
        found.log_overshoot[age] = over
        found.below_m[age], found.radius_m[age], found.life_s[age] = _burst(
            over, depth * column.spot_radius_m, column, boil
        )


@njit(cache=True, nogil=True, error_model="numpy")
def _overshoot(ratio: float, dispersion: float) -> tuple[float, float]:
    """Return the mean of ln(T / threshold) over the thresholds below T, and the odds that there is one.

    ``ratio`` is T over the median threshold; thresholds are log-normal.
    """
    margin = math.log(ratio) / dispersion
    if margin < LEAST_MARGIN:
        return 0.0, 0.0
    hazard = normal_cdf(margin)
    return max(dispersion * (margin + _normal_density(margin) / hazard), 0.0), hazard


@njit(cache=True, nogil=True, error_model="numpy")
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


@njit(cache=True, nogil=True, error_model="numpy")
def burst_of(
    log_overshoot: float, hottest_m: float, column: Column, liquid: Liquid
) -> tuple[float, float, float]:
    """Return how deep a column bursts, and the largest radius and the life of its cavity.

    The cavity opens about the middle of the column; at the glass it is wider and lives longer.
    """
    return _burst(log_overshoot, hottest_m, column, boiling(column, liquid))


@njit(cache=True, nogil=True, error_model="numpy")
def _burst(
    log_overshoot: float, hottest_m: float, column: Column, boil: Boiling
) -> tuple[float, float, float]:
    below = hottest_m + log_overshoot / column.absorption_per_m
    sphere = np.cbrt(boil.volume_m3_per_j * column.bubble_share * _stored_j(log_overshoot, boil))
    free_life = boil.life_s_per_m * sphere
    standoff = 0.5 * below / max(sphere, 1e-9)
    wider = 1.0 if standoff >= 1.0 else clear_share(standoff) ** (-1.0 / 3.0)
    return below, sphere * wider, life_of_same_volume(standoff) * free_life


@njit(cache=True, nogil=True, error_model="numpy")
def column_energy_j(log_overshoot: float, column: Column, liquid: Liquid) -> float:
    """Return the heat stored above saturation in the superheated column, in joules.

    With T(r, z) = X T_need exp(-2 r^2 / w^2) exp(-alpha z) down to z_s = ln(X) / alpha the integral of
    rho c (T - T_sat) over all T > T_sat closes to (pi w^2 / 2) rho c (T_sat / alpha)
    [e^y - y - y^2 / 2] between y = ln(T_need / T_sat) and y + ln X.
    """
    return _stored_j(log_overshoot, boiling(column, liquid))


@njit(cache=True, nogil=True, error_model="numpy")
def _stored_j(log_overshoot: float, boil: Boiling) -> float:
    high = boil.low + log_overshoot
    return boil.scale_j * (boil.needed_ratio * math.exp(log_overshoot) - high - 0.5 * high**2 - boil.bracket)


@njit(cache=True, nogil=True, error_model="numpy")
def boiling(column: Column, liquid: Liquid) -> Boiling:
    """Gather what bursts of a column share: see `column_energy_j` and `farface.materials.bubble_life`."""
    needed_ratio = max(column.rise_needed_k / liquid.saturation_rise_k, 1.0 + 1e-9)
    low = math.log(needed_ratio)
    scale = 0.5 * math.pi * column.spot_radius_m**2 * liquid.heat_capacity_j_per_m3_k
    return Boiling(
        scale * liquid.saturation_rise_k / column.absorption_per_m,
        low,
        needed_ratio,
        needed_ratio - low - 0.5 * low**2,
        radius_from_energy_m(1.0, liquid.overpressure_pa) ** 3,
        life_s(1.0, liquid.density_kg_per_m3, liquid.overpressure_pa),
    )


@njit(cache=True, nogil=True, error_model="numpy")
def normal_cdf(x: float) -> float:
    """Return the standard normal distribution function."""
    return 0.5 * math.erfc(-x / math.sqrt(2.0))


@njit(cache=True, nogil=True, error_model="numpy")
def _normal_density(x: float) -> float:
    return math.exp(-0.5 * x * x) / math.sqrt(2.0 * math.pi)
