"""Hold the laser's pulse energy to its corner frequency, and refuse what it cannot give."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from farface.kernel import OutOfRange
from farface.optics.energy import pulse_energy_available_j, require_energy
from farface.records import Laser

LASER = Laser(
    wavelength_m=1.064e-6,
    pulse_s=8e-9,
    rated_power_w=20.0,
    rated_energy_j=0.8e-3,
    corner_hz=25e3,
    rate_min_hz=1e3,
    rate_max_hz=200e3,
    m2=1.3,
)
ROUNDING = 1e-12  # relative: one division


@pytest.mark.exact
@pytest.mark.parametrize(
    ("rate_hz", "energy_j"), [(1e3, 0.8e-3), (25e3, 0.8e-3), (50e3, 0.4e-3), (100e3, 0.2e-3), (200e3, 0.1e-3)]
)
def test_energy_is_constant_below_the_corner_and_falls_above(rate_hz: float, energy_j: float) -> None:
    assert pulse_energy_available_j(LASER, rate_hz) == pytest.approx(energy_j, rel=ROUNDING)


@given(rate_hz=st.floats(1e3, 200e3), corner_hz=st.floats(1e3, 200e3))
def test_energy_and_power_never_pass_what_is_rated(rate_hz: float, corner_hz: float) -> None:
    laser = Laser(**{field: getattr(LASER, field) for field in Laser.__slots__} | {"corner_hz": corner_hz})
    energy_j = pulse_energy_available_j(laser, rate_hz)
    assert 0.0 < energy_j <= laser.rated_energy_j
    assert energy_j * rate_hz <= laser.rated_power_w * (1.0 + ROUNDING)


@pytest.mark.parametrize("rate_hz", [999.0, 200.1e3, float("nan")])
def test_a_rate_that_the_laser_does_not_run_at_is_refused(rate_hz: float) -> None:
    with pytest.raises(OutOfRange, match=r"the rig's laser runs at 1\.00 kHz to 200 kHz\. Choose a rate"):
        pulse_energy_available_j(LASER, rate_hz)


def test_what_the_laser_gives_passes() -> None:
    require_energy(LASER, rate_hz=50e3, energy_j=0.4e-3)
    require_energy(LASER, rate_hz=30e3, energy_j=20.0 / 30e3)


@pytest.mark.parametrize(
    ("rate_hz", "energy_j"), [(50e3, 0.41e-3), (1e3, 0.81e-3), (50e3, 0.0), (50e3, -1e-6)]
)
def test_what_it_does_not_give_is_refused(rate_hz: float, energy_j: float) -> None:
    with pytest.raises(OutOfRange, match="gives more than 0 and at most"):
        require_energy(LASER, rate_hz=rate_hz, energy_j=energy_j)


def test_the_refusal_says_what_to_do() -> None:
    with pytest.raises(OutOfRange) as caught:
        require_energy(LASER, rate_hz=40e3, energy_j=1.25e-3)
    assert str(caught.value) == (
        "pulse energy is 1.25 mJ, but the rig's laser gives more than 0 and at most 500 uJ at 40.0 kHz. "
        "Choose an energy in that range, or a lower rate."
    )
