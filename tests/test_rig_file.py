"""Check rig.toml: the manual's example, every refusal with file and key, and the way there and back."""

import re
import tomllib
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from farface.files.rig_file import read_rig, rig_text, write_rig
from farface.kernel import FarfaceError, Malformed, Missing, OutOfRange
from farface.materials import glass_names
from farface.records import Camera, Cell, Known, Laser, Lens, Plate, Rig, Scanner

MANUAL = Path(__file__).parents[1] / "docs" / "file-formats.md"

RIG = Rig(
    name="counting chamber rig",
    invented=True,
    laser=Laser(
        wavelength_m=1064e-9,
        pulse_s=8e-9,
        rated_power_w=20.0,
        rated_energy_j=1e-3,
        corner_hz=20e3,
        rate_min_hz=1e3,
        rate_max_hz=200e3,
        m2=1.3,
    ),
    lens=Lens(focal_m=0.1, beam_radius_m=2.5e-3),
    scanner=Scanner(field_m=0.07, mark_max_m_per_s=2.0, jump_m_per_s=5.0, settle_s=60e-6),
    plate=Plate(
        glass="borosilicate_low_expansion",
        thickness_m=Known(value=1.1e-3, sd=0.02e-3, how="measured"),
        width_m=0.075,
        height_m=0.025,
    ),
    cell=Cell(width_m=0.08, height_m=0.04, liquid_depth_m=0.03),
    camera=Camera(frame_hz=20e3, exposure_s=10e-6, pixel_m=8e-6, width_px=640, height_px=384),
    spot_radius_m=Known(value=20e-6, sd=2e-6, how="measured"),
)


def _manual_example(heading: str) -> str:
    match = re.search(rf"## {heading}\n.*?```toml\n(.*?)```", MANUAL.read_text(encoding="utf-8"), re.DOTALL)
    assert match is not None
    return match[1]


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "rig.toml"


def test_reads_the_example_of_the_manual(path: Path) -> None:
    path.write_text(_manual_example("rig.toml"), encoding="utf-8")
    assert read_rig(path) == RIG


def test_the_manual_lists_every_glass() -> None:
    manual = MANUAL.read_text(encoding="utf-8")
    assert all(f"`{glass}`" in manual for glass in glass_names())


def test_reads_back_what_it_wrote(path: Path) -> None:
    for rig in (RIG, replace(RIG, camera=None, spot_radius_m=None, invented=False)):
        write_rig(path, rig)
        assert read_rig(path) == rig


def test_writes_a_comment_beside_the_keys_and_the_units_of_the_trade(path: Path) -> None:
    text = rig_text(RIG)
    assert 'wavelength = "1064 nm" ' in text
    assert 'settle = "60 us" ' in text
    assert 'thickness = "1.1 mm +/- 0.02 mm measured"' in text
    assert tomllib.loads(text)["laser"]["m2"] == 1.3
    assert len([line for line in text.splitlines() if " # " in line]) > 15


@given(
    name=st.text(st.characters(exclude_categories=["Cs"]), min_size=1).filter(str.strip),
    thickness=st.floats(1e-5, 5e-2),
    share=st.floats(0.0, 1.0),
    wavelength=st.floats(300e-9, 3e-6),
    settle=st.floats(0.0, 1.0),
)
def test_reads_back_any_name_and_any_number(
    tmp_path_factory: pytest.TempPathFactory,
    name: str,
    thickness: float,
    share: float,
    wavelength: float,
    settle: float,
) -> None:
    path = tmp_path_factory.getbasetemp() / "rig.toml"
    rig = replace(
        RIG,
        name=name,
        plate=replace(RIG.plate, thickness_m=Known(value=thickness, sd=share * thickness)),
        laser=replace(RIG.laser, wavelength_m=wavelength),
        scanner=replace(RIG.scanner, settle_s=settle),
    )
    write_rig(path, rig)
    assert read_rig(path) == rig


@pytest.mark.parametrize(
    ("old", "new", "error", "says"),
    [
        ("thickness =", "thicknes =", Malformed, "[plate] has the unknown key thicknes"),
        ("thickness =", "thicknes =", Malformed, "Did you mean thickness?"),
        ("settle =", "field_width =", Malformed, "[scanner] has the unknown key field_width"),
        ("settle =", "focal_length =", Malformed, "It belongs in [lens]."),
        ("[lens]", "[lense]", Malformed, "rig.toml has lense, which is none of its tables"),
        ("[lens]", "[lense]", Malformed, "Did you mean lens?"),
        ("[rig]", "m2 = 2\n[rig]", Malformed, "It belongs in [laser]."),
        ("[rig]", "lens = 3\n[rig]", Malformed, "rig.toml is no TOML"),
        ('"1.10 mm +/- 0.02 mm measured"', '"40 khz"', Malformed, 'rig.toml, [plate] thickness is "40 khz"'),
        ('"1.10 mm +/- 0.02 mm measured"', '"120 mm"', OutOfRange, "must lie between 0.01 mm and 50 mm: "),
        ('"1.10 mm +/- 0.02 mm measured"', '"0 mm"', OutOfRange, "thinner does not bear its own handling"),
        ('"1.10 mm +/- 0.02 mm measured"', "1.1", Malformed, "[plate] thickness is 1.1, without a unit"),
        ('"1.10 mm +/- 0.02 mm measured"', "true", Malformed, "[plate] thickness is true"),
        ('"1 mJ"', '"-1 mJ"', OutOfRange, 'rig.toml, [laser] rated_energy is "-1 mJ"'),
        ('"1064 nm"', '"10.6 um"', OutOfRange, "[laser] wavelength is"),
        ('"1064 nm"', '"1064 nm +/- 1 nm"', Malformed, "[laser] wavelength is"),
        ('"8 ns"', '"2 ms"', OutOfRange, "[laser] pulse_length is"),
        ("m2 = 1.3", "m2 = 0.3", OutOfRange, "[laser] m2 is"),
        ("m2 = 1.3", "m2 = nan", Malformed, "[laser] m2 is"),
        ('"20 W"', '"50 W"', Malformed, "rated_energy times corner_rate is 20.0 W"),
        (
            'corner_rate = "20 kHz"',
            'corner_rate = "0.5 kHz"',
            Malformed,
            "corner_rate is 500 Hz, but must lie",
        ),
        ('"30 mm"', '"50 mm"', Malformed, "liquid_depth is 50.0 mm, but the cell is only 40.0 mm high"),
        ('"10 us"', '"60 us"', Malformed, "exposure is 60.0 us, but a frame lasts only 50.0 us"),
        ("width = 640", 'width = "640"', Malformed, '[camera] width is "640". Write a whole number'),
        ("width = 640", "width = 0", OutOfRange, "[camera] width is 0"),
        ("width = 640", "width = true", Malformed, "[camera] width is true"),
        ("invented = true", "invented = 1", Malformed, "[rig] invented is 1. Write true or false"),
        ('name = "counting chamber rig"', 'name = " "', Malformed, '[rig] name is " "'),
        ('name = "counting chamber rig"', "", Missing, "rig.toml lacks name in [rig]"),
        ("borosilicate_low_expansion", "borosilicate", Malformed, '[plate] glass is "borosilicate"'),
        ("pixel =", "pixels =", Malformed, "Did you mean pixel?"),
        ('pixel = "8 um" ', "#", Missing, "rig.toml lacks pixel in [camera]"),
        ('radius = "20 um +/- 2 um measured"', "", Missing, "rig.toml lacks radius in [spot]"),
    ],
)
def test_names_the_file_and_the_key(
    path: Path, old: str, new: str, error: type[FarfaceError], says: str
) -> None:
    text = _manual_example("rig.toml")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(error) as caught:
        read_rig(path)
    assert says in str(caught.value)
    assert "rig.toml" in str(caught.value)
    assert "\n" not in str(caught.value)


def test_names_a_table_that_is_missing(path: Path) -> None:
    path.write_text('[rig]\nname = "x"\n', encoding="utf-8")
    with pytest.raises(Missing, match=re.escape("rig.toml lacks the table [laser]")):
        read_rig(path)


def test_a_value_in_place_of_a_table_is_named(path: Path) -> None:
    path.write_text("laser = 3\n", encoding="utf-8")
    with pytest.raises(Malformed, match="gives laser a value, but it is a table"):
        read_rig(path)


def test_a_bound_may_be_typed_in_another_unit(path: Path) -> None:
    text = _manual_example("rig.toml").replace('"1.10 mm +/- 0.02 mm measured"', '"10 um"')
    path.write_text(text, encoding="utf-8")
    assert read_rig(path).plate.thickness_m == Known(value=10e-6)


def test_names_a_file_that_is_not_there_or_no_text(path: Path) -> None:
    with pytest.raises(Missing, match="There is no file"):
        read_rig(path)
    path.write_bytes(b"\xff\xfe[rig]")
    with pytest.raises(Malformed, match="no text in UTF-8"):
        read_rig(path)
    with pytest.raises(Malformed, match="cannot be read"):
        read_rig(path.parent)
