"""Read an axis as a person types it, and span what the rig can do where no limits are given."""

from collections.abc import Sequence
from typing import Final

import numpy as np

from farface.etch.axes import AXES, Axis
from farface.kernel import Malformed, OutOfRange, parse_quantity, show_quantity
from farface.optics.energy import pulse_energy_available_j
from farface.optics.spot import spot_radius_m
from farface.records import Rig, Setting
from farface.records.knobs import KNOBS

GRID: Final = 24
# A span of copper that dissolves at room temperature and still absorbs within a centimetre.
COPPER_MOL_PER_M3: Final = (100.0, 1200.0)
# What people also type.
ALSO_CALLED: Final = {"concentration": "copper"}


def axis_of(rig: Rig, setting: Setting, text: str, *, points: int = GRID) -> tuple[str, list[float]]:
    """Read ``"energy"`` or ``"energy=50 uJ..600 uJ"`` as the name of an axis and its values in SI."""
    name, _, limits = (part.strip() for part in text.partition("="))
    name = ALSO_CALLED.get(name, name)
    axis = AXES.get(name)
    if axis is None:
        raise Malformed(f'"{name}" is no setting. Choose one of: {", ".join(AXES)}.')
    low, high = _limits(axis, limits) if limits else _usual_limits(rig, setting)[name]
    if axis.whole:
        count = min(points, round(high - low) + 1)
        return name, sorted({float(round(v)) for v in np.linspace(low, high, count)})
    return name, np.linspace(low, high, points).tolist()


def knob_of(rig: Rig, setting: Setting, text: str, *, points: int) -> tuple[str, list[float]]:
    """Read an axis that a plate can vary from cell to cell, as a field of `Setting` and its values."""
    name, values = axis_of(rig, setting, text, points=points)
    fields = {knob.name: field for field, knob in KNOBS.items()}
    if name not in fields:
        raise OutOfRange(
            f'"{name}" cannot be varied from cell to cell of a coupon. Choose one of: {", ".join(fields)}.'
        )
    return fields[name], values


def usual_span(rig: Rig, setting: Setting, name: str) -> tuple[str, str]:
    """Give the ends that an axis spans where no limits are typed, as a person would type them."""
    axis = AXES[name]
    low, high = _usual_limits(rig, setting)[name]
    if axis.whole:
        return f"{low:.0f}", f"{high:.0f}"
    return show_quantity(low, axis.dimension), show_quantity(high, axis.dimension)


def shown_values(axis: Axis, values: Sequence[float]) -> tuple[float, ...]:
    """Give the values of an axis in the unit it is shown in."""
    factor = parse_quantity(f"1 {axis.unit}", axis.dimension)
    return tuple(value / factor for value in values)


def _limits(axis: Axis, text: str) -> tuple[float, float]:
    low_text, dots, high_text = text.partition("..")
    if not dots:
        raise Malformed(f'"{text}" is no range. Write it as "low..high", each with its unit.')
    low = parse_quantity(low_text, axis.dimension, what=f"the lower end of {axis.words}")
    high = parse_quantity(high_text, axis.dimension, what=f"the upper end of {axis.words}")
    if not low < high or (low <= 0.0 and axis.name != "focus"):
        raise OutOfRange(
            f'the range "{text}" of {axis.words} must rise, and from above zero. Swap or correct it.'
        )
    return low, high


def _usual_limits(rig: Rig, setting: Setting) -> dict[str, tuple[float, float]]:
    available_j = pulse_energy_available_j(rig.laser, setting.rate_hz)
    spot_m = spot_radius_m(rig).value
    return {
        "energy": (0.05 * available_j, available_j),
        "rate": (rig.laser.rate_min_hz, rig.laser.rate_max_hz),
        "pulses": (1.0, 20.0),
        "pitch": (0.2 * spot_m, 2.0 * spot_m),
        "passes": (1.0, 50.0),
        "focus": (-20.0 * spot_m, 20.0 * spot_m),
        "speed": (0.02 * rig.scanner.mark_max_m_per_s, rig.scanner.mark_max_m_per_s),
        "copper": COPPER_MOL_PER_M3,
    }
