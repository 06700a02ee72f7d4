"""Estimate how long passes take: pulses, and the way from point to point."""

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from farface.part.layouts import distinct_layouts
from farface.records import Pass, Scanner

# The steps along a row are one pitch; a longer step than this many is a jump with the laser off.
_JUMP_PITCHES = 1.5


def passes_duration_s(passes: Iterable[Pass], scanner: Scanner) -> float:
    """Sum pulses / rate, distance / jump speed and the pause over all points: the beam stands at each.

    So the program is written, and so `farface.etch` takes points to be fired. Counts the pause before each
    pass's first point, but not the way there, which depends on where the beam stood. Leaves out the person:
    moving the lens between passes, and waiting for the bath to settle.
    """
    total_s = 0.0
    for layout in distinct_layouts(passes):
        points, setting = len(layout.points_m), layout.setting
        moving_s = float(steps_m(layout.points_m).sum()) / scanner.jump_m_per_s + points * scanner.settle_s
        firing_s = points * setting.pulses_per_point / setting.rate_hz
        total_s += len(layout.passes) * (firing_s + moving_s)
    return total_s


def is_jump(points_m: NDArray[np.float64], *, pitch_m: float) -> NDArray[np.bool_]:
    """Say which steps between successive points are too long for a step along a row, shape (points - 1,)."""
    return steps_m(points_m) > _JUMP_PITCHES * pitch_m


def steps_m(points_m: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the distances between successive points, shape (points - 1,)."""
    steps: NDArray[np.float64] = np.hypot(*np.diff(points_m, axis=0).T)
    return steps
