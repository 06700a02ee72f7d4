"""Word a number with its uncertainty, its unit and how it is known; decide what is drawn soft."""

import math
from typing import Final

from farface.kernel import UNITS, in_unit, show_quantity
from farface.records import Known

# A choice of ours: from a tenth of the value on, even a measured number is drawn as loosely known.
LOOSE_SHARE: Final = 0.1


def is_soft(known: Known) -> bool:
    """Decide whether an edge at this value is drawn soft: not measured or stated, or loosely known."""
    return known.how in ("computed", "assumed") or known.sd > LOOSE_SHARE * abs(known.value)


def show_known(known: Known, dimension: str) -> str:
    """Write value ± standard deviation in one unit, such as ``"1.10 ± 0.02 mm"``, rounded by the latter.

    Without a standard deviation the value alone is written, to three significant digits.
    """
    value, sd, unit = _in_one_unit(known, dimension)
    spread = f" ± {sd}" if sd else ""
    return f"{value}{spread} {unit}".rstrip()


def _in_one_unit(known: Known, dimension: str) -> tuple[str, str, str]:
    """Give value, standard deviation (empty without one) and the unit of both."""
    value, _, unit = show_quantity(known.value, dimension).partition(" ")
    if not (known.sd > 0.0 and math.isfinite(known.sd)):
        return value, "", unit
    value, sd = rounded_together(*(in_unit(x, unit, dimension) for x in (known.value, known.sd)))
    # Rounding may lift a value into the next unit: 952 ± 300 um is 1.0 ± 0.3 mm.
    lifted = show_quantity(float(value) * UNITS[dimension][unit], dimension).partition(" ")[2]
    if float(value) != 0.0 and lifted != unit:
        value, sd = rounded_together(*(in_unit(x, lifted, dimension) for x in (known.value, known.sd)))
        unit = lifted
    return value, sd, unit


def rounded_together(value: float, sd: float) -> tuple[str, str]:
    """Round a standard deviation to one digit (two if it starts with 1) and its value to the same place."""
    place = math.floor(math.log10(sd))
    if round(sd / 10.0**place, 6) < 2.0:
        place -= 1
    decimals = max(0, -place)
    return f"{round(value, -place):.{decimals}f}", f"{round(sd, -place):.{decimals}f}"


def known_row(name: str, known: Known, dimension: str, source: str = "") -> tuple[str, str, str, str, str]:
    """Give a table row: name, value with unit, uncertainty, how known, source; see `KNOWN_HEADER`."""
    value, sd, unit = _in_one_unit(known, dimension)
    spread = f"± {sd} {unit}".rstrip() if sd else "none given"
    return name, f"{value} {unit}".rstrip(), spread, known.how, source


KNOWN_HEADER: Final = ("quantity", "value", "uncertainty (1 sd)", "how known", "source")
