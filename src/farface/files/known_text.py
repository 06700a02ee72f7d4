"""Read and write a quantity with its uncertainty and provenance, such as ``"20 um +/- 2 um measured"``."""

import re
from typing import Final, get_args

from farface.kernel import UNITS, Malformed, parse_quantity
from farface.records import How, Known

HOWS: Final[tuple[How, ...]] = get_args(How)

# Every decimal number of so many digits survives the way through a binary one and back.
_SAFE_DIGITS: Final = 15

_PLUS_MINUS = re.compile(r"\+/-|±")
# No unit is a word of five letters, so one that follows a unit is meant as a provenance.
_MISSPELT = re.compile(r"[A-Za-z%µ]\S*\s+[A-Za-z]{5,}\s*$")


def read_known(text: str, dimension: str, *, what: str) -> Known:
    """Read ``VALUE UNIT [+/- VALUE UNIT | +/- VALUE %] [WORD]`` as SI; WORD is one of `HOWS`.

    Without a word the value counts as "stated", without ``+/-`` as exact. Raises `Malformed` with what
    would be read, also when the uncertainty is negative or larger than the value itself.
    """
    quantity, how = _split_provenance(text, what)
    centre, *uncertainty = (part.strip() for part in _PLUS_MINUS.split(quantity))
    if len(uncertainty) > 1:
        raise Malformed(f'{what} is "{text}", which has "+/-" twice. Write it once, as in "20 um +/- 2 um".')
    value = read_quantity(centre, dimension, what=what)
    if not uncertainty:
        return Known(value=value, how=how)
    sd = _read_uncertainty(uncertainty[0], value, dimension, what=f"the uncertainty of {what}")
    return Known(value=value, sd=sd, how=how)


def write_known(known: Known, dimension: str, unit: str) -> str:
    """Write a value so that `read_known` gives back the very same record."""
    words = [write_quantity(known.value, dimension, unit)]
    if known.sd:
        words += ["+/-", write_quantity(known.sd, dimension, unit)]
    if known.how != "stated":
        words.append(known.how)
    return " ".join(words)


def read_quantity(text: str, dimension: str, *, what: str) -> float:
    """Read a quantity as `farface.kernel.parse_quantity` does, free of the rounding of its conversion."""
    digits = sum(character.isdigit() for character in text)
    return _rounded(parse_quantity(text, dimension, what=what), digits)


def write_quantity(value: float, dimension: str, unit: str) -> str:
    """Write an SI value in ``unit``, or in the first unit of its dimension in which it reads back exactly.

    A computed value may have no number in ``unit`` that returns it to the last bit; the SI unit always has.
    """
    factors = UNITS[dimension]
    for name in (unit, *factors):
        text = f"{write_number(value, factors[name])} {name}".rstrip()
        if read_quantity(text, dimension, what="") == value:
            return text
    return f"{value!r} {dimension}"


def read_number(number: str, factor: float) -> float:
    """Read a plain number in a unit of ``factor``, free of the rounding of the product."""
    digits = sum(character.isdigit() for character in number)
    return _rounded(float(number) * factor, digits)


def write_number(value: float, factor: float) -> str:
    """Write ``value / factor`` with the fewest digits that read back as ``value``, or with all of them."""
    scaled = value / factor
    for digits in range(1, 18):
        number = repr(float(f"{scaled:.{digits}g}")).removesuffix(".0")
        if read_number(number, factor) == value:
            break
    return number


def _rounded(value: float, digits_given: int) -> float:
    """Drop what the multiplication by a unit left behind a number of few digits: 60 us is 6e-05 s."""
    return float(f"{value:.{_SAFE_DIGITS}g}") if digits_given <= _SAFE_DIGITS else value


def _split_provenance(text: str, what: str) -> tuple[str, How]:
    """Take the last word off when it says how the value came about."""
    *before, last = text.split() or [""]
    for how in HOWS:
        if last.lower() == how:
            return " ".join(before), how
    if _MISSPELT.search(text):
        allowed = ", ".join(HOWS)
        raise Malformed(f'{what} is "{text}", which ends in "{last}". End it in {allowed}, or in the unit.')
    return text, "stated"


def _read_uncertainty(text: str, value: float, dimension: str, *, what: str) -> float:
    """Read the part behind ``+/-``: a quantity of the same dimension, or a share of the value."""
    if dimension != "1" and text.endswith("%"):
        share = parse_quantity(text, "1", what=what)
        sd = _rounded(abs(value) * share, digits_given=0)
    else:
        sd = read_quantity(text, dimension, what=what)
    if not 0.0 <= sd <= abs(value):
        raise Malformed(
            f'{what} is "{text}", but must be neither negative nor larger than the value itself. '
            'Write one standard deviation, as in "20 um +/- 2 um".'
        )
    return sd
