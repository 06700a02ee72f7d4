"""Read a setting as a person types it, and choose one where nothing was said."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

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
_WHOLE_NUMBER = re.compile(r"[+-]?\d{1,9}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Typed:
    """Hold a setting as typed, every part optional: ``"300 uJ"``, ``"40 kHz"``, 8, ``"12 um"``, 10."""

    energy: str | None = None
    rate: str | None = None
    pulses: int | None = None
    pitch: str | None = None
    passes: int | None = None
    focus: str | None = None


def typed_of(texts: Mapping[str, str]) -> Typed:
    """Take a setting from the texts of a form or an address; an empty text says nothing."""
    given = {name: text.strip() for name, text in texts.items() if text.strip()}
    return Typed(
        energy=given.get("energy"), rate=given.get("rate"), pitch=given.get("pitch"),
        focus=given.get("focus"),
        pulses=whole_number(given.get("pulses"), what="pulses per point"),
        passes=whole_number(given.get("passes"), what="passes"),
    )  # fmt: skip


def whole_number(text: str | None, *, what: str) -> int | None:
    """Read a whole number; an empty text gives None. Raises `Malformed` for anything else."""
    if text is None or not text.strip():
        return None
    if not _WHOLE_NUMBER.fullmatch(text.strip()):
        raise Malformed(f'{what} is "{text}", which is no whole number. Write digits only, such as 8.')
    return int(text)


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


def setting_texts(setting: Setting) -> dict[str, str]:
    """Write a setting as it would be typed, by the names of `Typed`."""
    return {
        "energy": _short(setting.pulse_energy_j, "J"),
        "rate": _short(setting.rate_hz, "Hz"),
        "pulses": str(setting.pulses_per_point),
        "pitch": _short(setting.pitch_m, "m"),
        "passes": str(setting.passes),
        "focus": _short(setting.focus_offset_m, "m") if setting.focus_offset_m else "0 um",
    }


def _short(value: float, dimension: str) -> str:
    """Write four significant digits at most, without zeros that say nothing."""
    number, _, unit = show_quantity(value, dimension, digits=4).partition(" ")
    return f"{number.rstrip('0').rstrip('.') if '.' in number else number} {unit}"


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


def _usual_rate_hz(rig: Rig) -> float:
    return min(max(USUAL_RATE_HZ, rig.laser.rate_min_hz), rig.laser.rate_max_hz)


def _usual_pitch_m(rig: Rig) -> float:
    return round(PITCH_PER_SPOT * spot_radius_m(rig).value, 7)
