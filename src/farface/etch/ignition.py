"""Decide how often a setting ignites, how hot the liquid then is, and how many pulses meet the cavity.

A pulse adds T0 = alpha F / (rho c) to what earlier pulses left. A vapour cavity opens when the hottest
point passes the rise needed; the needed rise scatters log-normally from pulse to pulse, so ignition is a
hazard. After an ignition the heat is spent: the pulses that arrive while the cavity is open etch, and
those after its collapse heat a fresh column.
"""

import math
from typing import Final, NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

from farface.heat.drain import PROBES_ZETA, drain_at
from farface.materials.bubble_life import life_s, radius_from_energy_m

# Scatter of cavity lives about Rayleigh's, as a log-normal; rounds the edge between pulse counts.
LIFE_SCATTER: Final = 0.2
# Earlier points on the line, and earlier lines, whose heat is added; later ones add below one percent.
POINTS_BACK: Final = 12
LINES_BACK: Final = 6
# Rounds of the balance between heat left by points that did not ignite and the odds that points ignite.
BALANCE_ROUNDS: Final = 6
# Balance is reached when less than this share of points still changes.
BALANCED: Final = 0.01
# Smaller shares of points are not followed.
LEAST_SHARE: Final = 1e-9


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


class Ignition(NamedTuple):
    """Hold what ignition gives for one setting and one draw, averaged over the ignitions of a point.

    ``flashes_per_point`` may exceed 1; ``inside_per_flash`` is the mean number of pulses that meet an
    open cavity, on the point that opened it and on the next; ``run_length`` is the longer of the two runs.
    ``left_share`` is the heat left by earlier points as a share of one pulse's.
    """

    flashes_per_point: float
    inside_per_flash: float
    run_length: float
    overshoot: float
    column_m: float
    radius_m: float
    life_s: float
    left_share: float


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
def ignite(heating_k: float, firing: Firing, column: Column, shares: Shares, liquid: Liquid) -> Ignition:
    """Return the ignition of points fired one after another, each pulse heating by ``heating_k``. About 3 us.

    The heat that earlier points left and the cavities that reach over to the next point depend on how
    often points ignite: both are brought into balance.
    """
    starts = np.zeros(firing.pulses + 1)
    starts[0] = 1.0
    left = 1.0
    result = Ignition(0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 0.0)
    for _ in range(BALANCE_ROUNDS):
        result, following = _one_point(heating_k, firing, column, shares, liquid, starts, left)
        cold = 1.0 - min(result.flashes_per_point, 1.0)
        moved = abs(cold - left) + np.abs(following - starts).sum()
        if moved < BALANCED:
            break
        starts = 0.5 * (starts + following)
        left = 0.5 * (left + cold)
    return result


@njit(cache=True, nogil=True)
def _one_point(
    heating_k: float,
    firing: Firing,
    column: Column,
    shares: Shares,
    liquid: Liquid,
    starts: NDArray[np.float64],
    left: float,
) -> tuple[Ignition, NDArray[np.float64]]:
    """Walk the pulses of one point: every fresh start, its hazards, the cavities they open.

    ``starts``, shape (pulses + 1,), is the share of points whose first pulse to meet liquid is each one (the
    last entry: none does). Returns the averages and the next point's ``starts``.
    """
    pulses, period_s = firing.pulses, 1.0 / firing.rate_hz
    open_at = starts.copy()
    following = np.zeros(pulses + 1)
    sums = np.zeros(7)
    for start in range(pulses):
        surviving = open_at[start]
        for n in range(start, pulses):
            if surviving < LEAST_SHARE:
                break
            hottest, depth = _hottest(left if start == 0 else 0.0, n - start, shares)
            over, hazard = _overshoot(heating_k * hottest / column.rise_needed_k, column.dispersion)
            if hazard == 0.0:
                continue
            ignited = surviving * hazard
            radius, life = _cavity(over, column, liquid)
            here = _pulses_inside(life, period_s, pulses - 1 - n, period_s)
            beyond = _pulses_inside(life, (pulses - n) * period_s + firing.jump_s, pulses, period_s)
            deep = depth * column.spot_radius_m + over / column.absorption_per_m
            for i, value in enumerate((1.0, here, beyond, over, deep, radius, life)):
                sums[i] += ignited * value
            fresh = n + 1 + int(here + 0.5)
            if fresh < pulses:
                open_at[fresh] += ignited
            else:
                following[int(beyond + 0.5)] += ignited
            surviving -= ignited
        following[0] += surviving
    following[0] += open_at[pulses]
    return _averages(sums, left * shares.neighbours.max()), following


@njit(cache=True, nogil=True)
def _averages(sums: NDArray[np.float64], left_share: float) -> Ignition:
    """Divide what ignitions summed up to by their number."""
    flashes, here, beyond, over, deep, radius, life = sums
    total = max(flashes, 1e-300)
    return Ignition(
        flashes, (here + beyond) / total, max(here, beyond) / total, math.exp(over / total), deep / total,
        radius / total, life / total, left_share,
    )  # fmt: skip


@njit(cache=True, nogil=True)
def _overshoot(ratio: float, dispersion: float) -> tuple[float, float]:
    """Return the mean of ln(T / threshold) over the thresholds below T, and the odds that there is one.

    ``ratio`` is T over the median threshold; thresholds are log-normal.
    """
    margin = math.log(ratio) / dispersion
    hazard = normal_cdf(margin)
    if hazard < LEAST_SHARE:
        return 0.0, 0.0
    return max(dispersion * (margin + _normal_density(margin) / hazard), 0.0), hazard


@njit(cache=True, nogil=True)
def _cavity(log_overshoot: float, column: Column, liquid: Liquid) -> tuple[float, float]:
    """Return radius and life of the cavity that a superheated column feeds."""
    energy = column.bubble_share * column_energy_j(log_overshoot, column, liquid)
    radius = radius_from_energy_m(energy, liquid.overpressure_pa)
    return radius, life_s(radius, liquid.density_kg_per_m3, liquid.overpressure_pa)


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
def _pulses_inside(cavity_life_s: float, first_s: float, pulses: int, period_s: float) -> float:
    """Return how many of a row of pulses, the first after ``first_s``, are expected inside the cavity."""
    met = 0.0
    for j in range(pulses):
        if cavity_life_s <= 0.0:
            break
        share = normal_cdf(math.log(cavity_life_s / (first_s + j * period_s)) / LIFE_SCATTER)
        if share < 1e-4:
            break
        met += share
    return met


@njit(cache=True, nogil=True)
def normal_cdf(x: float) -> float:
    """Return the standard normal distribution function."""
    return 0.5 * math.erfc(-x / math.sqrt(2.0))


@njit(cache=True, nogil=True)
def _normal_density(x: float) -> float:
    return math.exp(-0.5 * x * x) / math.sqrt(2.0 * math.pi)
