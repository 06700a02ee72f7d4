"""Decide how often a setting ignites and how many pulses meet the cavity, over a line of points.

After an ignition the heat is spent: the pulses that arrive while the cavity is open etch, and those after
its collapse heat a fresh column. What a pulse does to its column stands in `farface.etch.column`.
"""

import math
from typing import Final, NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

from farface.etch.column import (
    LEAST_ODDS,
    Ages,
    Boiling,
    Column,
    Firing,
    Liquid,
    Shares,
    boiling,
    fill_ages,
    room_for_ages,
)

# Lives of cavities lie evenly within this share of their mean, a standard deviation of 0.2. Assumed.
LIFE_SPREAD: Final = 0.35
# The share of points that stay cold is found to this, in at most so many steps.
BALANCED: Final = 0.002
BALANCE_STEPS: Final = 14
# How often a line begins anew, for where points start: too rare to matter, enough to tell what can be.
RENEWED: Final = 1e-6


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


class Courses(NamedTuple):
    """Hold what comes of a point by the pulse at which its column starts: a row for each, and one for none.

    ``sums``, shape (pulses + 1, 7), adds up over ignitions their number and what `Ignition` averages;
    ``following``, shape (pulses + 1, pulses + 1), is the odds of where the next point starts.
    """

    sums: NDArray[np.float64]
    following: NDArray[np.float64]


class PointRoom(NamedTuple):
    """Hold room that the balance works in, so that nothing is allocated in a hot loop; for so many pulses."""

    ages: Ages
    courses: Courses
    flow: NDArray[np.float64]
    starts: NDArray[np.float64]
    sums: NDArray[np.float64]


@njit(cache=True, nogil=True, error_model="numpy")
def room_for_points(pulses: int) -> PointRoom:
    """Return room for points of up to so many pulses."""
    states = pulses + 1
    courses = Courses(np.zeros((states, 7)), np.zeros((states, states)))
    return PointRoom(
        room_for_ages(pulses), courses, np.empty((states, states)), np.zeros(states), np.empty(7)
    )


@njit(cache=True, nogil=True, error_model="numpy")
def ignite(
    heating_k: float, firing: Firing, column: Column, shares: Shares, boil: Boiling, room: PointRoom
) -> Ignition:
    """Return the ignition of points fired one after another, each pulse heating by ``heating_k``.

    The heat that earlier points left depends on how often they ignite, and ignition on that heat: the
    share of cold points is found where both agree, by false position. About 2 us for 8 pulses a point.
    """
    left = _balanced(heating_k, firing, column, shares, boil, room)
    return _averages(room.sums, left * shares.neighbours.max())


@njit(cache=True, nogil=True, error_model="numpy")
def balance(
    heating_k: float, firing: Firing, column: Column, shares: Shares, liquid: Liquid
) -> tuple[Ignition, NDArray[np.float64], float]:
    """Return the ignition together with where points start and what share of them stayed cold."""
    room = room_for_points(firing.pulses)
    left = _balanced(heating_k, firing, column, shares, boiling(column, liquid), room)
    return _averages(room.sums, left * shares.neighbours.max()), room.starts, left


@njit(cache=True, nogil=True, error_model="numpy")
def _balanced(
    heating_k: float, firing: Firing, column: Column, shares: Shares, boil: Boiling, room: PointRoom
) -> float:
    """Find the share of points that stay cold; leave where points start and their sums in ``room``."""
    pulses = firing.pulses
    fill_ages(room.ages, heating_k, 0.0, column, shares, boil)
    reach = _fresh_courses(room.courses, firing, room.ages)
    low, high, left = 0.0, 1.0, 0.0
    miss_low, miss_high = 1.0, -1.0
    for step in range(BALANCE_STEPS):
        if step > 0:
            fill_ages(room.ages, heating_k, left, column, shares, boil)
        wide = _set_course(room.courses, 0, firing, room.ages, reach)
        long_run_starts(room.starts, room.courses.following, room.flow, wide + 1)
        _weigh(room.sums, room.starts[: min(wide, pulses) + 1], room.courses.sums)
        miss = 1.0 - min(room.sums[0], 1.0) - left
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
    return left


@njit(cache=True, nogil=True, error_model="numpy")
def _fresh_courses(courses: Courses, firing: Firing, fresh: Ages) -> int:
    """Work out the course from every pulse but the first, last one first: each leads only to later ones.

    Returns the last pulse at which a next point may start.
    """
    pulses = firing.pulses
    courses.sums[pulses] = 0.0
    courses.following[pulses] = 0.0
    courses.following[pulses, 0] = 1.0
    reach = 0
    for start in range(pulses - 1, 0, -1):
        reach = _set_course(courses, start, firing, fresh, reach)
    return reach


@njit(cache=True, nogil=True, error_model="numpy")
def _set_course(courses: Courses, start: int, firing: Firing, kind: Ages, reach: int) -> int:
    """Fill the row of one start from its hazards and the rows of later ones, none of which passes ``reach``.

    Returns how far a next point's start may now reach.
    """
    sums, following = courses.sums[start], courses.following[start]
    sums[:] = 0.0
    following[:] = 0.0
    surviving, further = 1.0, reach
    for n in range(start, firing.pulses):
        if surviving < LEAST_ODDS:
            break
        age = n - start
        ignited = surviving * kind.hazard[age]
        surviving -= ignited
        if ignited < LEAST_ODDS:
            continue
        here, beyond = pulses_met(kind.life_s[age], n, firing)
        sums[0] += ignited
        sums[1] += ignited * here
        sums[2] += ignited * beyond
        sums[3] += ignited * kind.log_overshoot[age]
        sums[4] += ignited * kind.below_m[age]
        sums[5] += ignited * kind.radius_m[age]
        sums[6] += ignited * kind.life_s[age]
        # A mean count is no whole number: the whole ones below and above share it.
        for met in (int(here), int(here) + 1):
            again, share = n + 1 + met, ignited * (1.0 - abs(here - met))
            if share == 0.0:
                continue
            if again < firing.pulses:
                for i in range(sums.size):
                    sums[i] += share * courses.sums[again, i]
                for i in range(reach + 1):
                    following[i] += share * courses.following[again, i]
            else:
                first = min(int(beyond), firing.pulses - 1)
                rest = min(beyond - first, 1.0)
                following[first] += share * (1.0 - rest)
                following[first + 1] += share * rest
                further = max(further, first + 1 if rest > 0.0 else first)
    following[0] += surviving
    return further


@njit(cache=True, nogil=True, error_model="numpy")
def long_run_starts(
    starts: NDArray[np.float64], following: NDArray[np.float64], flow: NDArray[np.float64], states: int
) -> None:
    """Bring ``starts`` to where points start in the long run: the chain's stationary odds.

    Eliminates one state after another, the last first, without subtracting [grassmann1985]. So that a start
    that never happens counts as none, a line begins anew once in a million points.
    """
    starts[:] = 0.0
    starts[0] = 1.0
    for i in range(states):
        for j in range(states):
            flow[i, j] = following[i, j]
        flow[i, 0] += RENEWED
    for n in range(states - 1, 0, -1):
        leaving = 0.0
        for j in range(n):
            leaving += flow[n, j]
        for i in range(n):
            flow[i, n] /= leaving
            for j in range(n):
                flow[i, j] += flow[i, n] * flow[n, j]
    total = 1.0
    for n in range(1, states):
        for i in range(n):
            starts[n] += starts[i] * flow[i, n]
        total += starts[n]
    for n in range(states):
        starts[n] /= total


@njit(cache=True, nogil=True, error_model="numpy")
def _weigh(total: NDArray[np.float64], weights: NDArray[np.float64], rows: NDArray[np.float64]) -> None:
    """Put weights @ rows into ``total``; for matrices this small a plain loop is several times faster."""
    total[:] = 0.0
    for j in range(weights.size):
        if weights[j] != 0.0:
            for i in range(total.size):
                total[i] += weights[j] * rows[j, i]


@njit(cache=True, nogil=True, error_model="numpy")
def pulses_met(cavity_life_s: float, n: int, firing: Firing) -> tuple[float, float]:
    """Return how many pulses meet a cavity that pulse ``n`` opened: on its own point, and on the next."""
    period_s = 1.0 / firing.rate_hz
    here = _pulses_inside(cavity_life_s, period_s, firing.pulses - 1 - n, period_s)
    to_next_s = (firing.pulses - n) * period_s + firing.jump_s
    return here, _pulses_inside(cavity_life_s, to_next_s, firing.pulses, period_s)


@njit(cache=True, nogil=True, error_model="numpy")
def _averages(sums: NDArray[np.float64], left_share: float) -> Ignition:
    """Divide what ignitions summed up to by their number."""
    flashes, here, beyond, over, deep, radius, life = sums
    total = max(flashes, 1e-300)
    return Ignition(
        flashes, (here + beyond) / total, max(here, beyond) / total, math.exp(over / total), deep / total,
        radius / total, life / total, left_share,
    )  # fmt: skip


@njit(cache=True, nogil=True, error_model="numpy")
def _pulses_inside(cavity_life_s: float, first_s: float, pulses: int, period_s: float) -> float:
    """Return how many of a row of pulses, the first after ``first_s``, are expected inside the cavity."""
    longest, width = (1.0 + LIFE_SPREAD) * cavity_life_s, 2.0 * LIFE_SPREAD * cavity_life_s
    met = 0.0
    for j in range(pulses):
        spare = longest - (first_s + j * period_s)
        if spare <= 0.0:
            break
        met += min(spare / width, 1.0)
    return met
