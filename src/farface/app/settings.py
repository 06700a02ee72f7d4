"""Read a setting as a person types it, and choose one where nothing was said."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from farface.etch.window import AXES, WHOLE, Axis
from farface.kernel import Malformed, OutOfRange, parse_quantity, show_quantity
from farface.optics.energy import pulse_energy_available_j
from farface.optics.spot import spot_radius_m
from farface.records import Rig, Setting

# What is tried first on an unknown bench: a third of the energy at a middling rate, points that overlap well.
# Common practice, no source.
USUAL_RATE_HZ: Final = 40e3
ENERGY_SHARE: Final = 0.45
PITCH_PER_SPOT: Final = 0.6
USUAL_PULSES: Final = 8
USUAL_PASSES: Final = 10
GRID: Final = 24
# How a person names the settings; the fields of `Setting` carry units that they need not type.
AXIS_NAMES: Final = {
    "energy": "pulse_energy_j",
    "rate": "rate_hz",
    "pulses": "pulses_per_point",
    "pitch": "pitch_m",
    "passes": "passes",
    "focus": "focus_offset_m",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Typed:
    """Hold a setting as typed, every part optional: ``"300 uJ"``, ``"40 kHz"``, 8, ``"12 um"``, 10."""

    energy: str | None = None
    rate: str | None = None
    pulses: int | None = None
    pitch: str | None = None
    passes: int | None = None
    focus: str | None = None


def setting_of(rig: Rig, typed: Typed) -> Setting:
    """Fill in what was not typed from the rig, and refuse what the laser cannot give."""
    rate_hz = _typed(typed.rate, "Hz", "the repetition rate", _usual_rate_hz(rig))
    laser = rig.laser
    if not laser.rate_min_hz <= rate_hz <= laser.rate_max_hz:
        raise OutOfRange(
            f"the repetition rate is {show_quantity(rate_hz, 'Hz')}, but the rig's laser runs from "
            f"{show_quantity(laser.rate_min_hz, 'Hz')} to {show_quantity(laser.rate_max_hz, 'Hz')}. "
            "Choose a rate in that range, or correct rig.toml."
        )
    available_j = pulse_energy_available_j(laser, rate_hz)
    setting = Setting(
        pulse_energy_j=_typed(typed.energy, "J", "the pulse energy", ENERGY_SHARE * available_j),
        rate_hz=rate_hz,
        pulses_per_point=_count(typed.pulses, "pulses per point", USUAL_PULSES),
        pitch_m=_typed(typed.pitch, "m", "the pitch", _usual_pitch_m(rig)),
        passes=_count(typed.passes, "passes", USUAL_PASSES),
        focus_offset_m=parse_quantity(typed.focus, "m", what="the focus") if typed.focus else 0.0,
    )
    if setting.pulse_energy_j > available_j * (1.0 + 1e-9):
        raise OutOfRange(
            f"the pulse energy is {show_quantity(setting.pulse_energy_j, 'J')}, but at "
            f"{show_quantity(rate_hz, 'Hz')} the rig's laser gives {show_quantity(available_j, 'J')}. "
            "Choose less energy or a lower rate, or correct rig.toml."
        )
    return setting


def axis_of(rig: Rig, setting: Setting, text: str, *, points: int = GRID) -> tuple[str, list[float]]:
    """Read an axis, ``"energy"`` or ``"energy=50 uJ..600 uJ"``; else it spans what the rig can do."""
    name, _, limits = text.partition("=")
    field = AXIS_NAMES.get(name.strip())
    if field is None:
        raise Malformed(f'"{name.strip()}" is no setting. Choose one of: {", ".join(AXIS_NAMES)}.')
    low, high = _limits(AXES[field], limits) if limits else _usual_limits(rig, setting, field)
    if field in WHOLE:
        count = min(points, round(high - low) + 1)
        return field, sorted({float(round(v)) for v in np.linspace(low, high, count)})
    return field, np.linspace(low, high, points).tolist()


def show_setting(setting: Setting) -> str:
    """Write a setting in one line, in the units a person reads."""
    parts = [
        show_quantity(setting.pulse_energy_j, "J"),
        show_quantity(setting.rate_hz, "Hz"),
        f"{setting.pulses_per_point} pulses a point",
        f"pitch {show_quantity(setting.pitch_m, 'm')}",
        f"{setting.passes} passes" if setting.passes != 1 else "1 pass",
    ]
    if setting.focus_offset_m:
        parts.append(f"focus {show_quantity(setting.focus_offset_m, 'm')} below the face")
    return ", ".join(parts)


def shown_values(axis: Axis, values: Sequence[float]) -> tuple[float, ...]:
    """Give the values of an axis in the unit it is shown in."""
    factor = parse_quantity(f"1 {axis.unit}", axis.dimension)
    return tuple(value / factor for value in values)


def _typed(text: str | None, dimension: str, what: str, otherwise: float) -> float:
    if text is None:
        return otherwise
    value = parse_quantity(text, dimension, what=what)
    if value <= 0.0:
        raise OutOfRange(f'{what} is "{text}"; it must be above zero. Give a positive value.')
    return value


def _count(given: int | None, what: str, otherwise: int) -> int:
    if given is not None and given < 1:
        raise OutOfRange(f"{what} is {given}; it must be 1 or more. Give a whole number.")
    return otherwise if given is None else given


def _limits(axis: Axis, text: str) -> tuple[float, float]:
    low_text, dots, high_text = text.partition("..")
    if not dots:
        raise Malformed(f'"{text}" is no range. Write it as "low..high", each with its unit.')
    low = parse_quantity(low_text, axis.dimension, what=f"the lower end of {axis.title}")
    high = parse_quantity(high_text, axis.dimension, what=f"the upper end of {axis.title}")
    if not low < high or (low <= 0.0 and axis.field != "focus_offset_m"):
        raise OutOfRange(
            f'the range "{text}" of {axis.title} must rise, and from above zero. Swap or correct it.'
        )
    return low, high


def _usual_limits(rig: Rig, setting: Setting, field: str) -> tuple[float, float]:
    available_j = pulse_energy_available_j(rig.laser, setting.rate_hz)
    spot_m = spot_radius_m(rig).value
    return {
        "pulse_energy_j": (0.05 * available_j, available_j),
        "rate_hz": (rig.laser.rate_min_hz, rig.laser.rate_max_hz),
        "pulses_per_point": (1.0, 20.0),
        "pitch_m": (0.2 * spot_m, 2.0 * spot_m),
        "passes": (1.0, 50.0),
        "focus_offset_m": (-20.0 * spot_m, 20.0 * spot_m),
    }[field]


def _usual_rate_hz(rig: Rig) -> float:
    return min(max(USUAL_RATE_HZ, rig.laser.rate_min_hz), rig.laser.rate_max_hz)


def _usual_pitch_m(rig: Rig) -> float:
    return round(PITCH_PER_SPOT * spot_radius_m(rig).value, 7)
