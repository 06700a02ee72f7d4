"""Put the pulses of a hatched field, or of a patch of it, in order of time."""

import numpy as np

from farface.coupon.pulse_by_pulse import Firing
from farface.records import Rig, Setting


def point_s(setting: Setting, rig: Rig) -> float:
    """Measure the time from one point's first pulse to the next point's: its pulses, then the jump."""
    jump_s = rig.scanner.settle_s + setting.pitch_m / rig.scanner.jump_m_per_s
    return setting.pulses_per_point / setting.rate_hz + jump_s


def hatch_firing(
    setting: Setting, rig: Rig, *, lines: int, columns: int, field_lines: int, field_columns: int
) -> Firing:
    """Order the pulses of a patch of ``lines`` by ``columns`` points inside a larger hatched field.

    Every line runs the same way. The clock also runs through the field's points outside the patch, so that
    lines and passes come back after the time that the whole field takes.
    """
    n = setting.pulses_per_point
    number, line, column, pulse = np.indices((setting.passes, lines, columns, n)).reshape(4, -1)
    points = (number * field_lines + line) * field_columns + column
    time_s = points * point_s(setting, rig) + pulse / setting.rate_hz
    return Firing(time_s, line, column, number)
