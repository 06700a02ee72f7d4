"""Hold the conversion of units to a second implementation, and its refusals to one clear sentence."""

import re

import pint
import pytest
import scipy.constants as codata
from hypothesis import given
from hypothesis import strategies as st

from farface import kernel
from farface.kernel import UNITS, FarfaceError, Malformed, in_unit, parse_quantity, show_quantity

ROUNDING = 4e-16  # relative: two roundings of a double, one in each implementation
ROUND_TRIP = 1e-15  # relative: one division and one multiplication
SHOWN = 0.5  # of the last digit shown
EVERY_UNIT = [(dimension, unit) for dimension, units in UNITS.items() for unit in units]


def _pint_text(unit: str) -> str:
    """Write a unit of ours as pint spells it: ``mm2`` is ``mm**2``, a bare number is dimensionless."""
    return re.sub(r"([A-Za-z])([23])", r"\1**\2", unit).replace("%", "percent") or "dimensionless"


@pytest.fixture(scope="module")
def registry() -> pint.UnitRegistry:
    return pint.UnitRegistry()


@pytest.mark.exact
@pytest.mark.parametrize(("dimension", "unit"), EVERY_UNIT)
def test_factors_agree_with_pint(dimension: str, unit: str, registry: pint.UnitRegistry) -> None:
    ours = registry.parse_expression(_pint_text(unit))
    si = registry.parse_units(_pint_text("" if dimension == "1" else dimension))
    assert UNITS[dimension][unit] == pytest.approx((1.0 * ours).to(si).magnitude, rel=ROUNDING)


@pytest.mark.exact
@pytest.mark.parametrize(
    ("ours", "theirs"),
    [
        (kernel.LIGHT_SPEED_M_PER_S, codata.c),
        (kernel.PLANCK_J_S, codata.h),
        (kernel.BOLTZMANN_J_PER_K, codata.k),
        (kernel.AVOGADRO_PER_MOL, codata.N_A),
        (kernel.ATMOSPHERE_PA, codata.atm),
    ],
)
def test_constants_are_the_defined_ones(ours: float, theirs: float) -> None:
    assert ours == theirs


@pytest.mark.exact
def test_gas_constant() -> None:
    # scipy prints the exact product with ten digits.
    assert pytest.approx(codata.R, abs=5e-10) == kernel.GAS_J_PER_MOL_K


# Numbers too small for full double precision are left out: no length or energy of the bench is near them.
NUMBERS = st.floats(min_value=-1e12, max_value=1e12, allow_nan=False, allow_subnormal=False).filter(
    lambda number: number == 0.0 or abs(number) > 1e-200
)
UNIT = st.sampled_from(EVERY_UNIT)


@given(number=NUMBERS, where=UNIT, space=st.sampled_from(["", " ", "  "]))
def test_reading_is_number_times_factor(number: float, where: tuple[str, str], space: str) -> None:
    dimension, unit = where
    # A unit that begins with a digit needs the space: "5 1/cm".
    gap = space or " " if unit[:1].isdigit() else space
    assert parse_quantity(f"{number!r}{gap}{unit}", dimension) == number * UNITS[dimension][unit]


@given(value=NUMBERS, where=UNIT)
def test_converting_there_and_back(value: float, where: tuple[str, str]) -> None:
    dimension, unit = where
    back = in_unit(value, unit, dimension) * UNITS[dimension][unit]
    assert back == pytest.approx(value, rel=ROUND_TRIP)


@given(
    value=st.floats(min_value=1e-15, max_value=1e15) | st.floats(min_value=-1e15, max_value=-1e-15),
    dimension=st.sampled_from(list(UNITS)),
    digits=st.integers(min_value=2, max_value=8),
)
def test_what_is_shown_reads_back(value: float, dimension: str, digits: int) -> None:
    shown = show_quantity(value, dimension, digits=digits)
    half_last_digit = SHOWN * 10.0 ** (1 - digits)
    assert parse_quantity(shown, dimension) == pytest.approx(value, rel=half_last_digit * (1 + 1e-9))


@pytest.mark.parametrize(
    ("value", "dimension", "shown"),
    [
        (2e-4, "J", "200 uJ"),
        (1.1e-3, "m", "1.10 mm"),
        (1.064e-6, "m", "1.06 um"),
        (0.0, "m", "0 nm"),
        (40e3, "Hz", "40.0 kHz"),
        (28.294e4, "J/m2", "28.3 J/cm2"),
        (0.1, "1", "0.100"),
        (119.6, "K", "120 K"),
        (0.9999, "s", "1000 ms"),
    ],
)
def test_shown_as_a_person_reads_it(value: float, dimension: str, shown: str) -> None:
    assert show_quantity(value, dimension) == shown


@pytest.mark.parametrize("micro", ["u", "\N{MICRO SIGN}", "\N{GREEK SMALL LETTER MU}"])
def test_micro_as_keyboards_write_it(micro: str) -> None:
    assert parse_quantity(f"15 {micro}m", "m") == 15 * 1e-6


@pytest.mark.parametrize(
    "text", ["40 khz", "", "   ", "1,5 mm", "nan um", "inf m", "1e999 m", "5", "1.5.2 mm", "mm", "5 MM"]
)
def test_bad_lengths_are_refused_in_one_clear_text(text: str) -> None:
    with pytest.raises(Malformed) as refused:
        parse_quantity(text, "m", what="the plate's thickness")
    said = str(refused.value)
    assert said.startswith(f'the plate\'s thickness is "{text}", ')
    assert said.endswith("in nm, um, mm, cm, m.")
    assert "\n" not in said


def test_a_share_may_be_a_bare_number() -> None:
    assert parse_quantity("12.5 %", "1") == parse_quantity("0.125", "1") == 0.125
    with pytest.raises(Malformed, match=r"Write it as a bare number or in %\.$"):
        parse_quantity("0.1 mm", "1")


@given(text=st.text(max_size=12), dimension=st.sampled_from(list(UNITS)))
def test_any_text_is_read_or_refused(text: str, dimension: str) -> None:
    try:
        value = parse_quantity(text, dimension)
    except FarfaceError as refused:
        assert all(unit in str(refused) for unit in UNITS[dimension])
    else:
        assert abs(value) < float("inf")
