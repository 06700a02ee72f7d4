"""Gather the points of a plan that matter for a square of the plate, with the time at which each is fired."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from farface.part.duration import passes_duration_s, steps_m
from farface.part.firing import Shots
from farface.records import Pass, Scanner


def shots_near(
    passes: Sequence[Pass], scanner: Scanner, *, middle_m: tuple[float, float], half_m: float, index: float
) -> Shots:
    """Return the points within ``half_m`` of a place, across or up, in order of firing.

    The clock runs through the points outside as well; between passes it stands still, as if nobody moved the
    lens. The floor in focus is the lens's raise times the refractive index.
    """
    near: dict[int, NDArray[np.intp]] = {}
    clocks: dict[int, NDArray[np.float64]] = {}
    parts: list[NDArray[np.float64]] = []
    start_s = 0.0
    for one in passes:
        key = id(one.points_m)
        if key not in near:
            near[key] = np.flatnonzero(np.abs(one.points_m - middle_m).max(axis=1) <= half_m)
            clocks[key] = point_times_s(one, scanner)[near[key]]
        points_m = one.points_m[near[key]]
        focus_m = np.full(len(points_m), one.focus_drop_m * index)
        parts.append(np.column_stack((start_s + clocks[key], points_m, focus_m)))
        start_s += passes_duration_s([one], scanner)
    return Shots(*np.ascontiguousarray(np.vstack(parts).T))


def point_times_s(one: Pass, scanner: Scanner) -> NDArray[np.float64]:
    """Return when the first pulse of every point of a pass comes, after the pass begins, shape (points,)."""
    firing_s = one.setting.pulses_per_point / one.setting.rate_hz
    arriving_s = np.concatenate(([0.0], np.cumsum(steps_m(one.points_m)))) / scanner.jump_m_per_s
    count = np.arange(len(one.points_m))
    return np.asarray(arriving_s + (count + 1) * scanner.settle_s + count * firing_s)
