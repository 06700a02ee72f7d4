"""Hold the errors a person may read, exact constants, and the conversion of units at the edge."""

import math
import re
from typing import Final

LIGHT_SPEED_M_PER_S: Final = 299_792_458.0
PLANCK_J_S: Final = 6.626_070_15e-34
BOLTZMANN_J_PER_K: Final = 1.380_649e-23
AVOGADRO_PER_MOL: Final = 6.022_140_76e23
GAS_J_PER_MOL_K: Final = BOLTZMANN_J_PER_K * AVOGADRO_PER_MOL
ATMOSPHERE_PA: Final = 101_325.0
LN10: Final = math.log(10.0)


class FarfaceError(Exception):
    """Carry one sentence that is shown to the person as it stands; anything else raised is a bug."""


class OutOfRange(FarfaceError):
    """Say that a value lies outside what is allowed, and on whose authority."""


class Missing(FarfaceError):
    """Say that something needed is not there, and how to supply it."""


class Malformed(FarfaceError):
    """Say that something given cannot be read, where, and what would be read."""


class NotConverged(FarfaceError):
    """Say that a computation stopped early, and what to change."""


class Refused(FarfaceError):
    """Say that something is refused for safety, and what would lift the refusal."""


# Every unit that a person may type, by the SI unit of its dimension. Factors are exact.
UNITS: Final[dict[str, dict[str, float]]] = {
    "m": {"nm": 1e-9, "um": 1e-6, "mm": 1e-3, "cm": 1e-2, "m": 1.0},
    "m2": {"um2": 1e-12, "mm2": 1e-6, "cm2": 1e-4, "m2": 1.0},
    "m3": {"mL": 1e-6, "L": 1e-3, "m3": 1.0},
    "s": {"ns": 1e-9, "us": 1e-6, "ms": 1e-3, "s": 1.0, "min": 60.0, "h": 3600.0, "d": 86400.0},
    "Hz": {"Hz": 1.0, "kHz": 1e3, "MHz": 1e6},
    "J": {"nJ": 1e-9, "uJ": 1e-6, "mJ": 1e-3, "J": 1.0},
    "W": {"mW": 1e-3, "W": 1.0, "kW": 1e3},
    "J/m2": {"J/m2": 1.0, "mJ/cm2": 10.0, "J/cm2": 1e4},
    "m/s": {"mm/s": 1e-3, "m/s": 1.0},
    "1/m": {"1/m": 1.0, "1/cm": 100.0, "1/mm": 1000.0},
    "mol/m3": {"mol/m3": 1.0, "mmol/L": 1.0, "mol/L": 1e3},
    "m2/mol": {"m2/mol": 1.0, "L/mol/cm": 0.1},
    "K": {"K": 1.0},
    "rad": {"rad": 1.0, "mrad": 1e-3, "deg": math.pi / 180.0},
    "1": {"": 1.0, "%": 0.01},
    "kg": {"ug": 1e-9, "mg": 1e-6, "g": 1e-3, "kg": 1.0},
    "kg/m3": {"g/L": 1.0, "kg/m3": 1.0, "g/cm3": 1000.0},
}

# The unit a person reads, by dimension and size: the first whose value is at least one.
_SHOWN: Final[dict[str, tuple[str, ...]]] = {
    "m": ("mm", "um", "nm"),
    "s": ("s", "ms", "us", "ns"),
    "Hz": ("kHz", "Hz"),
    "J": ("J", "mJ", "uJ", "nJ"),
    "W": ("W", "mW"),
    "J/m2": ("J/cm2", "mJ/cm2"),
    "m/s": ("mm/s",),
    "1/m": ("1/cm",),
    "mol/m3": ("mol/L", "mmol/L"),
    "m2/mol": ("L/mol/cm",),
}

_QUANTITY = re.compile(r"^\s*([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)\s*([A-Za-z%0-9/]*)\s*$")
_MICRO = str.maketrans({"\N{MICRO SIGN}": "u", "\N{GREEK SMALL LETTER MU}": "u"})


def parse_quantity(text: str, dimension: str, *, what: str = "this value") -> float:
    """Read a number with its unit, such as ``"0.2 mJ"``, as SI; ``dimension`` is a key of `UNITS`.

    Raises `Malformed` with the units that would be read when the text is no number or its unit is not
    one of the dimension's ("40 khz" for a length; a bare number where a unit is needed).
    """
    units = UNITS[dimension]
    match = _QUANTITY.match(text.translate(_MICRO))
    allowed = "in " + ", ".join(unit for unit in units if unit)
    if "" in units:
        allowed = f"as a bare number or {allowed}"
    if match is None:
        raise Malformed(f'{what} is "{text}", which is no number with a unit. Write it {allowed}.')
    number, unit = float(match[1]), match[2]
    if unit not in units:
        given = f'has the unit "{unit}"' if unit else "has no unit"
        raise Malformed(f'{what} is "{text}", which {given}. Write it {allowed}.')
    value = number * units[unit]
    if not math.isfinite(value):
        raise Malformed(f'{what} is "{text}", which is not finite. Write an ordinary number {allowed}.')
    return value


def in_unit(value: float, unit: str, dimension: str) -> float:
    """Convert an SI value to a unit of its dimension."""
    return value / UNITS[dimension][unit]


def show_quantity(value: float, dimension: str, *, digits: int = 3) -> str:
    """Write an SI value with a unit a person reads, such as ``"200 uJ"``; ``digits`` are significant."""
    if dimension == "1" or dimension not in _SHOWN:
        return f"{show_number(value, digits)} {dimension}".removesuffix(" 1")
    candidates = _SHOWN[dimension]
    factor = UNITS[dimension]
    chosen = next((unit for unit in candidates if abs(value) >= factor[unit]), candidates[-1])
    return f"{show_number(value / factor[chosen], digits)} {chosen}"


def show_number(number: float, digits: int) -> str:
    """Write a number with significant digits and without an exponent where it has a readable size."""
    if number == 0.0 or not math.isfinite(number):
        return f"{number:g}"
    size = int(f"{number:.{digits - 1}e}".partition("e")[2])  # of the rounded number: 999.9 counts as 1000
    if -4 <= size < 7:
        return f"{round(number, digits - 1 - size):.{max(0, digits - 1 - size)}f}"
    return f"{number:.{digits - 1}e}"
