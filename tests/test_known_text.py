"""Check the text of a quantity with its uncertainty and provenance."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from farface.files.known_text import HOWS, read_known, read_quantity, write_known, write_quantity
from farface.kernel import UNITS, Malformed
from farface.records import Known

SIZES = st.floats(1e-15, 1e15)


@pytest.mark.parametrize(
    ("text", "known"),
    [
        ("1.10 mm", Known(value=1.1e-3)),
        ("20 um +/- 2 um", Known(value=20e-6, sd=2e-6)),
        ("20 um +/- 2 um measured", Known(value=20e-6, sd=2e-6, how="measured")),
        ("  20um+/-2um   Assumed ", Known(value=20e-6, sd=2e-6, how="assumed")),
        ("20 µm ± 0.002 mm computed", Known(value=20e-6, sd=2e-6, how="computed")),
        ("20 um +/- 10 %", Known(value=20e-6, sd=2e-6)),
        ("20 um stated", Known(value=20e-6)),
    ],
)
def test_reads_value_uncertainty_and_provenance(text: str, known: Known) -> None:
    assert read_known(text, "m", what="x") == known


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("20", 'x is "20", which has no unit'),
        ("40 khz", 'x is "40 khz", which has the unit "khz"'),
        ("20 um +/- 2", 'the uncertainty of x is "2"'),
        ("20 um +/- 2 s", 'the unit "s"'),
        ("20 um +/- -2 um", "must be neither negative nor larger than the value"),
        ("20 um +/- 21 um", "must be neither negative nor larger than the value"),
        ("20 um +/- 2 um +/- 3 um", '"\\+/-" twice'),
        ("20 um mesured", 'ends in "mesured". End it in measured, stated, computed, assumed'),
        ("20 microns", 'has the unit "microns"'),
        ("measured", "which is no number"),
        ("", "which is no number"),
    ],
)
def test_says_what_is_wrong(text: str, says: str) -> None:
    with pytest.raises(Malformed, match=says):
        read_known(text, "m", what="x")


@pytest.mark.parametrize("text", ["60 us", "20 um", "1.4 mm", "0.3 mJ", "8 ns", "4.5 L/mol/cm", "7 %"])
def test_a_short_number_means_the_nearest_float(text: str) -> None:
    dimension = next(name for name, units in UNITS.items() if text.split()[1] in units)
    digits, unit = text.split()
    exponent = f"{UNITS[dimension][unit]:e}".split("e")[1]
    assert read_quantity(text, dimension, what="x") == float(f"{digits}e{exponent}")


@given(value=SIZES, dimension=st.sampled_from(tuple(UNITS)), pick=st.integers(0, 9))
def test_any_quantity_reads_back_to_the_last_bit(value: float, dimension: str, pick: int) -> None:
    unit = tuple(UNITS[dimension])[pick % len(UNITS[dimension])]
    assert read_quantity(write_quantity(value, dimension, unit), dimension, what="x") == value


@given(value=SIZES, share=st.floats(0.0, 1.0), how=st.sampled_from(HOWS))
def test_any_known_value_reads_back_equal(value: float, share: float, how: str) -> None:
    known = Known(value=value, sd=share * value, how=how)
    assert read_known(write_known(known, "m", "um"), "m", what="x") == known


@given(number=st.integers(1, 999_999), power=st.integers(-6, 3))
def test_a_number_of_few_digits_is_written_as_a_person_would(number: int, power: int) -> None:
    typed = read_quantity(f"{number}e{power} um", "m", what="x")
    text = write_quantity(typed, "m", "um")
    assert text.endswith(" um")
    assert float(text.split()[0]) == float(f"{number}e{power}")
    assert sum(character.isdigit() for character in text) <= 16
