"""Hold the cautions and hazard statements to what must be said, and to whom each defers."""

import tomllib
from importlib.resources import files

import pytest

from farface.records import Bath, Known
from farface.safety.cautions import CAUTIONS, STAGES, SUBJECTS, cautions_for
from farface.safety.chemicals import CHEMICALS, chemicals_of


def bath(acid_mol_per_m3: float, salt="copper_sulfate_pentahydrate") -> Bath:
    return Bath(
        name="trial bath",
        invented=True,
        salt=salt,
        copper_mol_per_m3=1000.0,
        acid_mol_per_m3=acid_mol_per_m3,
        molar_absorption_m2_per_mol=Known(value=0.45),
    )


def text_of(subject: str, stage: str) -> str:
    return " ".join(caution.text for caution in cautions_for(stage) if caution.subject == subject)


@pytest.mark.parametrize("stage", ["coupon", "part"])
def test_where_the_laser_fires_every_subject_is_covered(stage: str) -> None:
    assert [s for s in SUBJECTS if text_of(s, stage)] == list(SUBJECTS)


def test_setting_up_the_bench_warns_of_beam_bath_glass_and_waste() -> None:
    assert {caution.subject for caution in cautions_for("bench")} == {"beam", "glass", "bath", "waste"}


def test_cautions_come_in_the_order_of_subjects() -> None:
    for stage in STAGES:
        order = [SUBJECTS.index(caution.subject) for caution in cautions_for(stage)]
        assert order == sorted(order)


@pytest.mark.parametrize(
    ("subject", "words"),
    [
        ("beam", "invisible"),
        ("beam", "never leave it firing alone"),
        ("bath", "harmful if swallowed"),
        ("bath", "serious eye damage"),
        ("bath", "very toxic to aquatic life"),
        ("bath", "Phosphoric acid is corrosive"),
        ("bath", "never water into acid"),
        ("vapours", "sulfur oxides"),
        ("splash", "droplets"),
        ("breaking", "needles"),
        ("waste", "never to the drain"),
        ("waste", "under local rules"),
    ],
)
def test_what_must_be_said_before_a_coupon_is_said(subject: str, words: str) -> None:
    assert words in text_of(subject, "coupon")


def test_every_caution_defers_to_someone_responsible() -> None:
    for caution in CAUTIONS:
        assert any(word in caution.defers_to for word in ("rules", "codes"))
        assert caution.stages
        if caution.subject == "beam":
            assert "laser safety officer" in caution.defers_to
        if caution.subject in ("bath", "vapours", "splash"):
            assert "data sheets of your own suppliers" in caution.defers_to


def test_the_bath_names_what_is_met() -> None:
    plain = [chemical.key for chemical in chemicals_of(bath(0.0))]
    assert plain == ["copper_sulfate_pentahydrate", "sulfur_trioxide", "sulfur_dioxide"]
    assert "phosphoric_acid" in [chemical.key for chemical in chemicals_of(bath(500.0))]
    assert chemicals_of(bath(0.0, "copper_sulfate_anhydrous"))[0].cas == "7758-98-7"


@pytest.mark.exact
@pytest.mark.parametrize("key", sorted(CHEMICALS))
def test_registry_numbers_have_their_check_digit(key: str) -> None:
    """The last digit is the sum of the others, weighted 1, 2, 3 from the right, modulo 10."""
    digits = [int(digit) for digit in CHEMICALS[key].cas.replace("-", "")]
    body, check = digits[:-1], digits[-1]
    assert sum(weight * digit for weight, digit in enumerate(reversed(body), start=1)) % 10 == check


def test_every_statement_says_how_it_stands() -> None:
    sources = tomllib.loads(files("farface").joinpath("sources.toml").read_text(encoding="utf-8"))
    for chemical in CHEMICALS.values():
        assert chemical.statements
        for statement in chemical.statements:
            expected = "memory" if statement.standing == "from memory" else "read"
            assert sources[statement.source]["status"] == expected
