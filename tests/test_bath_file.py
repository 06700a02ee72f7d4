"""Check bath.toml: which salt was weighed, what was measured, and the way there and back."""

import re
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from farface.files.bath_file import bath_text, read_bath, write_bath
from farface.kernel import FarfaceError, Malformed, Missing, OutOfRange
from farface.records import Bath, Known

MANUAL = Path(__file__).parents[1] / "docs" / "file-formats.md"

BATH = Bath(
    name="one mole",
    invented=False,
    salt="copper_sulfate_pentahydrate",
    copper_mol_per_m3=1000.0,
    acid_mol_per_m3=500.0,
    molar_absorption_m2_per_mol=Known(value=0.45, sd=0.15, how="assumed"),
    absorption_per_m=Known(value=1020.0, sd=40.0, how="measured"),
    volume_m3=1e-4,
    age_s=3 * 86400.0,
)
SHORT = 'name = "x"\nsalt = "copper_sulfate_pentahydrate"\nconcentration = "1 mol/L"\n'


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "bath.toml"


def _read(path: Path, keys: str) -> Bath:
    path.write_text(f"[bath]\n{keys}", encoding="utf-8")
    return read_bath(path)


def test_reads_the_example_of_the_manual(path: Path) -> None:
    text = MANUAL.read_text(encoding="utf-8")
    match = re.search(r"## bath.toml\n.*?```toml\n(.*?)```", text, re.DOTALL)
    assert match is not None
    path.write_text(match[1], encoding="utf-8")
    bath = read_bath(path)
    # 249.7 g/L over 249.685 g/mol: the example is rounded to four digits.
    assert bath.copper_mol_per_m3 == pytest.approx(1000.0, rel=1e-4)
    expected = replace(BATH, name="one mole, some acid", invented=True)
    assert replace(bath, copper_mol_per_m3=1000.0) == expected


# Xie 2020 recipe, as the table of published checks has it; half the last printed digit.
@pytest.mark.exact
@pytest.mark.parametrize(
    ("salt", "printed_mol_per_l"),
    [("copper_sulfate_anhydrous", "0.1754"), ("copper_sulfate_pentahydrate", "0.1121")],
)
def test_the_same_weight_of_two_salts_is_not_the_same_bath(
    path: Path, salt: str, printed_mol_per_l: str
) -> None:
    bath = _read(path, f'name = "x"\nsalt = "{salt}"\nweighed = "28 g/L"\n')
    assert f"{bath.copper_mol_per_m3 / 1000.0:.4f}" == printed_mol_per_l


def test_what_is_left_out_is_assumed_or_absent(path: Path) -> None:
    bath = _read(path, SHORT)
    assert bath.molar_absorption_m2_per_mol == Known(value=0.45, sd=0.15, how="assumed")
    assert bath.absorption_per_m is None
    assert (bath.acid_mol_per_m3, bath.age_s, bath.volume_m3) == (0.0, 0.0, 1e-4)
    assert bath.invented is False


def test_a_measured_absorption_is_natural_and_keeps_its_provenance(path: Path) -> None:
    bath = _read(path, SHORT + 'absorption = "10.2 1/cm +/- 0.4 1/cm measured"\n')
    assert bath.absorption_per_m == Known(value=1020.0, sd=40.0, how="measured")


def test_reads_back_what_it_wrote(path: Path) -> None:
    for bath in (BATH, replace(BATH, absorption_per_m=None, acid_mol_per_m3=0.0, invented=True)):
        write_bath(path, bath)
        assert read_bath(path) == bath
    assert 'absorption = "10.2 1/cm +/- 0.4 1/cm measured"' in bath_text(BATH)
    assert 'age = "3 d"' in bath_text(BATH)


@given(
    grams=st.floats(1.0, 240.0),
    acid=st.floats(0.0, 15_000.0),
    age=st.floats(0.0, 3e8),
    volume=st.floats(1e-7, 0.1),
)
def test_reads_back_any_number(
    tmp_path_factory: pytest.TempPathFactory, grams: float, acid: float, age: float, volume: float
) -> None:
    path = tmp_path_factory.getbasetemp() / "bath.toml"
    weighed = _read(path, f'name = "x"\nsalt = "copper_sulfate_anhydrous"\nweighed = "{grams!r} g/L"\n')
    bath = replace(weighed, acid_mol_per_m3=acid, age_s=age, volume_m3=volume)
    write_bath(path, bath)
    assert read_bath(path) == bath


@pytest.mark.parametrize(
    ("keys", "error", "says"),
    [
        (SHORT + 'weighed = "250 g/L"', Malformed, "gives both concentration and weighed"),
        (SHORT.replace("concentration", "concentrations"), Malformed, "Did you mean concentration?"),
        ('name = "x"\nsalt = "copper_sulfate_anhydrous"', Missing, "does not say how much copper"),
        (SHORT.replace("1 mol/L", "3 mol/L"), OutOfRange, "does not stay dissolved"),
        (SHORT.replace("1 mol/L", "-1 mol/L"), OutOfRange, '[bath] concentration is "-1 mol/L"'),
        (SHORT.replace("1 mol/L", "28 g/L"), Malformed, 'has the unit "g/L"'),
        (
            SHORT.replace('concentration = "1 mol/L"', 'weighed = "450 g/L"').replace("penta", "penda"),
            Malformed,
            "Did you mean copper_sulfate_pentahydrate?",
        ),
        (
            'name = "x"\nsalt = "copper_sulfate_anhydrous"\nweighed = "450 g/L"',
            OutOfRange,
            "weighed comes to 2.82 mol/L of copper_sulfate_anhydrous",
        ),
        (SHORT + 'acid = "20 mol/L"', OutOfRange, "[bath] acid is"),
        (SHORT + 'molar_absorption = "450 L/mol/cm"', OutOfRange, "[bath] molar_absorption is"),
        (SHORT + 'absorption = "10.2 L/mol/cm"', Malformed, "[bath] absorption is"),
        (SHORT + 'age = "-3 d"', OutOfRange, "[bath] age is"),
        (SHORT + 'volume = "0 mL"', OutOfRange, "[bath] volume is"),
        (SHORT.replace('name = "x"', ""), Missing, "bath.toml lacks name in [bath]"),
    ],
)
def test_names_the_file_and_the_key(path: Path, keys: str, error: type[FarfaceError], says: str) -> None:
    with pytest.raises(error) as caught:
        _read(path, keys)
    assert says in str(caught.value)
    assert "bath.toml" in str(caught.value)
