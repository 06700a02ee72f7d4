"""Estimate how long passes take: pulses, and the jumps between rows."""

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from farface.part.layouts import distinct_layouts
from farface.records import Pass, Scanner

# The steps along a row are one pitch; a longer step than this many is a jump with the laser off.
_JUMP_PITCHES = 1.5


def passes_duration_s(passes: Iterable[Pass], scanner: Scanner) -> float:
    """Sum pulses / rate over all points, and distance / jump speed plus the pause over all jumps.

    Counts a pause for the jump to each pass's first point, but not its length, which depends on where the
    beam stood. Leaves out the person: moving the lens between passes, and waiting for the bath to settle.
    """
    total_s = 0.0
    for layout in distinct_layouts(passes):
        pulses = len(layout.points_m) * layout.setting.pulses_per_point
        jumps_m = steps_m(layout.points_m)[is_jump(layout.points_m, pitch_m=layout.setting.pitch_m)]
        jumping_s = jumps_m.sum() / scanner.jump_m_per_s + (1 + len(jumps_m)) * scanner.settle_s
        total_s += len(layout.passes) * (pulses / layout.setting.rate_hz + float(jumping_s))
    return total_s


def is_jump(points_m: NDArray[np.float64], *, pitch_m: float) -> NDArray[np.bool_]:
    """Say which steps between successive points are too long for a step along a row, shape (points - 1,)."""
    return steps_m(points_m) > _JUMP_PITCHES * pitch_m


def steps_m(points_m: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the distances between successive points, shape (points - 1,)."""
    steps: NDArray[np.float64] = np.hypot(*np.diff(points_m, axis=0).T)
    return steps
