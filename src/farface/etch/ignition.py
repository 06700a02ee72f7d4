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
# A pulse later than the mean life over this is inside with odds below 1e-4, and the other way round.
SURELY_CLOSED: Final = math.exp(-3.72 * LIFE_SCATTER)
# Earlier points on the line, and earlier lines, whose heat is added; later ones add below one percent.
POINTS_BACK: Final = 12
LINES_BACK: Final = 6
# The share of points that stay cold is found to this, in at most so many steps.
BALANCED: Final = 0.002
BALANCE_STEPS: Final = 14
# Where points start has settled when this share moves from one to the next.
SETTLED: Final = 1e-4
SETTLING_STEPS: Final = 60
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


class Ages(NamedTuple):
    """Hold what a pulse does, by how many pulses its column has had before; each of shape (pulses,).

    ``hazard`` is the odds that it ignites; the others tell of the ignition, should it come.
    """

    hazard: NDArray[np.float64]
    log_overshoot: NDArray[np.float64]
    below_m: NDArray[np.float64]
    radius_m: NDArray[np.float64]
    life_s: NDArray[np.float64]


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
    """Return the ignition of points fired one after another, each pulse heating by ``heating_k``."""
    result, _, _ = balance(heating_k, firing, column, shares, liquid)
    return result


@njit(cache=True, nogil=True)
def balance(
    heating_k: float, firing: Firing, column: Column, shares: Shares, liquid: Liquid
) -> tuple[Ignition, NDArray[np.float64], float]:
    """Return the ignition together with where points start and what share of them stayed cold.

    The heat that earlier points left depends on how often they ignite, and ignition on that heat: the
    share of cold points is found where both agree, by false position.
    """
    courses = _fresh_courses(firing, ages(heating_k, 0.0, column, shares, liquid))
    low, high, left = 0.0, 1.0, 0.0
    miss_low, miss_high = 1.0, -1.0
    for step in range(BALANCE_STEPS):
        warm = ages(heating_k, left, column, shares, liquid)
        _set_course(courses, 0, firing, warm)
        starts = _settled(courses.following)
        sums = _weighed(starts, courses.sums)
        miss = 1.0 - min(sums[0], 1.0) - left
        if abs(miss) < BALANCED:
            break
        if step == 0:
            # No point stays cold even without its neighbours' heat, or not known yet: try all of it.
            miss_low = miss
            left = 1.0
            continue
        if miss > 0.0:
            low, miss_low = left, miss
        else:
            high, miss_high = left, miss
        left = (low * miss_high - high * miss_low) / (miss_high - miss_low)
        # False position alone may crawl along one side.
        if step % 3 == 2:
            left = 0.5 * (low + high)
    return _averages(sums, left * shares.neighbours.max()), starts, left


class Courses(NamedTuple):
    """Hold what comes of a point by the pulse at which its column starts: a row for each, and one for none.

    ``sums``, shape (pulses + 1, 7), adds up over ignitions their number and what `Ignition` averages;
    ``following``, shape (pulses + 1, pulses + 1), is the odds of where the next point starts.
    """

    sums: NDArray[np.float64]
    following: NDArray[np.float64]


@njit(cache=True, nogil=True)
def _fresh_courses(firing: Firing, fresh: Ages) -> Courses:
    """Work out the course from every pulse but the first, last one first: each leads only to later ones."""
    pulses = firing.pulses
    courses = Courses(np.zeros((pulses + 1, 7)), np.zeros((pulses + 1, pulses + 1)))
    courses.following[pulses, 0] = 1.0
    for start in range(pulses - 1, 0, -1):
        _set_course(courses, start, firing, fresh)
    return courses


@njit(cache=True, nogil=True)
def _set_course(courses: Courses, start: int, firing: Firing, kind: Ages) -> None:
    """Fill the row of one start from its hazards and the rows of later starts."""
    sums, following = courses.sums[start], courses.following[start]
    sums[:] = 0.0
    following[:] = 0.0
    surviving = 1.0
    for n in range(start, firing.pulses):
        age = n - start
        ignited = surviving * kind.hazard[age]
        surviving -= ignited
        if ignited < LEAST_SHARE:
            continue
        here, beyond = pulses_met(kind.life_s[age], n, firing)
        sums[0] += ignited
        sums[1] += ignited * here
        sums[2] += ignited * beyond
        sums[3] += ignited * kind.log_overshoot[age]
        sums[4] += ignited * kind.below_m[age]
        sums[5] += ignited * kind.radius_m[age]
        sums[6] += ignited * kind.life_s[age]
        again = n + 1 + int(here + 0.5)
        if again < firing.pulses:
            for i in range(sums.size):
                sums[i] += ignited * courses.sums[again, i]
            for i in range(following.size):
                following[i] += ignited * courses.following[again, i]
        else:
            following[int(beyond + 0.5)] += ignited
    following[0] += surviving


@njit(cache=True, nogil=True)
def _settled(following: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return where points start in the long run, averaging out what alternates from point to point."""
    starts = np.zeros(following.shape[0])
    starts[0] = 1.0
    for _ in range(SETTLING_STEPS):
        later = _weighed(starts, following)
        moved = 0.0
        for i in range(starts.size):
            moved += abs(later[i] - starts[i])
            starts[i] = 0.5 * (starts[i] + later[i])
        if moved < SETTLED:
            break
    return starts


@njit(cache=True, nogil=True)
def _weighed(weights: NDArray[np.float64], rows: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return weights @ rows; for matrices this small a plain loop is several times faster."""
    total = np.zeros(rows.shape[1])
    for j in range(weights.size):
        if weights[j] != 0.0:
            for i in range(total.size):
                total[i] += weights[j] * rows[j, i]
    return total


@njit(cache=True, nogil=True)
def ages(heating_k: float, left: float, column: Column, shares: Shares, liquid: Liquid) -> Ages:
    """Return what each pulse of a column does; ``left`` weighs the heat that earlier points left."""
    count = shares.dwell.shape[0]
    found = Ages(np.zeros(count), np.zeros(count), np.zeros(count), np.zeros(count), np.zeros(count))
    for age in range(count):
        hottest, depth = _hottest(left, age, shares)
        over, hazard = _overshoot(heating_k * hottest / column.rise_needed_k, column.dispersion)
        found.hazard[age] = hazard
        if hazard == 0.0:
            continue
        energy = column.bubble_share * column_energy_j(over, column, liquid)
        radius = radius_from_energy_m(energy, liquid.overpressure_pa)
        found.log_overshoot[age] = over
        found.below_m[age] = depth * column.spot_radius_m + over / column.absorption_per_m
        found.radius_m[age] = radius
        found.life_s[age] = life_s(radius, liquid.density_kg_per_m3, liquid.overpressure_pa)
    return found


@njit(cache=True, nogil=True)
def pulses_met(cavity_life_s: float, n: int, firing: Firing) -> tuple[float, float]:
    """Return how many pulses meet a cavity that pulse ``n`` opened: on its own point, and on the next."""
    period_s = 1.0 / firing.rate_hz
    here = _pulses_inside(cavity_life_s, period_s, firing.pulses - 1 - n, period_s)
    to_next_s = (firing.pulses - n) * period_s + firing.jump_s
    return here, _pulses_inside(cavity_life_s, to_next_s, firing.pulses, period_s)


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
        ratio = cavity_life_s / (first_s + j * period_s)
        if ratio < SURELY_CLOSED:
            break
        met += 1.0 if ratio > 1.0 / SURELY_CLOSED else normal_cdf(math.log(ratio) / LIFE_SCATTER)
    return met


@njit(cache=True, nogil=True)
def normal_cdf(x: float) -> float:
    """Return the standard normal distribution function."""
    return 0.5 * math.erfc(-x / math.sqrt(2.0))


@njit(cache=True, nogil=True)
def _normal_density(x: float) -> float:
    return math.exp(-0.5 * x * x) / math.sqrt(2.0 * math.pi)
