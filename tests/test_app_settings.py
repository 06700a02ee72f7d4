import pytest

from bench_records import RIG
from farface.app.axis import axis_of, knob_of
from farface.app.settings import Typed, setting_of, show_setting
from farface.kernel import FarfaceError, Malformed, OutOfRange


def test_a_typed_setting_is_read_in_the_persons_units() -> None:
    found = setting_of(RIG, Typed(energy="200 uJ", rate="40 kHz", pulses=4, pitch="15 um", passes=3))
    assert found.pulse_energy_j == pytest.approx(2e-4)
    assert found.rate_hz == 40e3
    assert (found.pulses_per_point, found.passes) == (4, 3)
    assert show_setting(found) == "200 uJ, 40.0 kHz, 4 pulses a point, pitch 15.0 um, 3 passes"


def test_what_is_not_typed_stays_within_the_rig() -> None:
    found = setting_of(RIG, Typed())
    assert 0.0 < found.pulse_energy_j * found.rate_hz < RIG.laser.rated_power_w
    assert 0.0 < found.pitch_m < RIG.spot_radius_m.value  # type: ignore[union-attr]


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        (Typed(energy="40 khz"), "the pulse energy"),
        (Typed(energy="-1 uJ"), "above zero"),
        (Typed(energy="5 mJ"), "the rig's laser gives"),
        (Typed(rate="1 MHz"), "runs from"),
        (Typed(pitch="15"), "has no unit"),
        (Typed(pulses=0), "pulses per point is 0"),
    ],
)
def test_a_setting_that_cannot_be_is_refused_in_a_sentence(typed: Typed, words: str) -> None:
    with pytest.raises(FarfaceError, match=words) as refused:
        setting_of(RIG, typed)
    assert str(refused.value).endswith(".")
    assert "\n" not in str(refused.value)


def test_axes_are_read_with_and_without_limits() -> None:
    setting = setting_of(RIG, Typed())
    field, values = axis_of(RIG, setting, "energy=50 uJ..600 uJ", points=5)
    assert field == "energy"
    assert values == pytest.approx([50e-6, 187.5e-6, 325e-6, 462.5e-6, 600e-6])
    assert axis_of(RIG, setting, "pulses=2..5")[1] == [2.0, 3.0, 4.0, 5.0]
    assert len(axis_of(RIG, setting, "rate")[1]) > 10
    assert knob_of(RIG, setting, "energy", points=3)[0] == "pulse_energy_j"


def test_a_coupon_cannot_vary_what_a_plate_shares() -> None:
    with pytest.raises(OutOfRange, match="copper"):
        knob_of(RIG, setting_of(RIG, Typed()), "copper", points=3)


@pytest.mark.parametrize(
    ("text", "kind"),
    [("colour", Malformed), ("energy=50 uJ", Malformed), ("energy=600 uJ..50 uJ", OutOfRange)],
)
def test_axes_that_are_none_are_refused(text: str, kind: type[FarfaceError]) -> None:
    with pytest.raises(kind):
        axis_of(RIG, setting_of(RIG, Typed()), text)
