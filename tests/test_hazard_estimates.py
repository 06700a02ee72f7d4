"""Hold the beam's estimates to closed forms, both tables side by side, and eyewear to what is needed."""

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from farface.kernel import OutOfRange, Refused
from farface.safety.beam import eyewear_density, hazard_distance
from farface.safety.distances import bare_beam_divergence_rad, cone_divergence_rad, dull_distance_m
from farface.safety.estimates import enclosure_advice, estimates, show_metres
from farface.safety.exposure import NOT_A_CLEARANCE, train_limit
from farface.safety.eyewear import require_density
from farface.safety.handling import HANDLING, TOPICS, handling_of
from plan_records import LASER, RIG

SHARES = {"the front face": 0.04, "a mirror": 1.0}


def found(energy_j: float = 3e-4, rate_hz: float = 40e3):
    return estimates(LASER, RIG.lens, pulse_energy_j=energy_j, rate_hz=rate_hz, mirrored_shares=SHARES)


# Directive 2006/25/EC, Annex II: 0.05 J/m2 for one pulse at 1064 nm; two pulses a group at 40 kHz.
@pytest.mark.published
def test_both_tables_stand_side_by_side_and_the_stricter_counts() -> None:
    told = found()
    assert told.single_legal.limit_j_per_m2 == pytest.approx(0.05)
    assert told.legal.limit_j_per_m2 == pytest.approx(0.05 * (10.0 / 50e-6) ** -0.25 / 2.0)
    assert "Directive 2006/25/EC" in told.legal.table
    assert "later edition" in told.stricter.table
    assert told.legal.limit_j_per_m2 / told.stricter.limit_j_per_m2 == pytest.approx(2.5)
    assert all(way.limit_w_per_m2 == told.stricter.limit_w_per_m2 for way in told.ways)
    assert {told.words, *(way.words for way in told.ways)} == {NOT_A_CLEARANCE}


# The formula that safety guides print (from memory): 20 W, 1 mrad, 7 mm, 50.61 W/m2 gives 702.3 m.
@pytest.mark.from_memory
def test_the_nominal_distance_of_a_bare_beam() -> None:
    one = hazard_distance(power_w=20.0, divergence_rad=1e-3, beam_diameter_m=7e-3, limit_w_per_m2=50.61)
    assert one.distance_m == pytest.approx(702.3, rel=1e-3)


# A worked example printed in a public course text: 488 nm, 0.25 s, 3.8 W/cm2; unrounded it is OD 3.17.
@pytest.mark.published
def test_the_visible_worked_example_unrounded() -> None:
    limit_w_per_m2 = 18.0 * 0.25**0.75 / 0.25
    density = eyewear_density(exposure_j_per_m2=3.8e4, limit_j_per_m2=limit_w_per_m2)
    assert density.optical_density == pytest.approx(3.17, abs=0.005)


@pytest.mark.exact
def test_on_the_hazard_distance_the_beam_meets_its_limit() -> None:
    told = found()
    power_w = 3e-4 * 40e3
    ways = {way.name: way for way in told.ways}
    bare = ways["the beam before the lens"]
    wide_m = math.sqrt(2.0) * 2.5e-3 + bare.distance_m * bare_beam_divergence_rad(LASER, RIG.lens)
    assert 4.0 * power_w / (math.pi * wide_m**2) == pytest.approx(bare.limit_w_per_m2, rel=1e-9)
    front = ways["mirrored by the front face"]
    cone_m = front.distance_m * cone_divergence_rad(RIG.lens)
    assert 4.0 * 0.04 * power_w / (math.pi * cone_m**2) == pytest.approx(front.limit_w_per_m2, rel=1e-9)
    dull = ways["scattered by a dull white surface"]
    assert power_w / (math.pi * dull.distance_m**2) == pytest.approx(dull.limit_w_per_m2, rel=1e-9)
    assert ways["mirrored by a mirror"].distance_m == ways["the beam behind its focus"].distance_m


# A Gaussian beam of w 2.5 mm and M2 1.4 spreads by M2 lambda / (pi w) at 1/e2: 0.1897 mrad to each side.
@pytest.mark.exact
def test_divergence_is_told_at_1_over_e_and_over_the_full_angle() -> None:
    half_mrad = 1e3 * 1.4 * 1.064e-6 / (math.pi * 2.5e-3)
    assert 1e3 * bare_beam_divergence_rad(LASER, RIG.lens) == pytest.approx(2.0 * half_mrad / math.sqrt(2.0))
    assert cone_divergence_rad(RIG.lens) == pytest.approx(2.0 * (2.5e-3 / math.sqrt(2.0)) / 0.1)


@given(energy_uj=st.floats(1.0, 400.0), more=st.floats(1.01, 2.0))
def test_more_energy_is_never_less_of_a_hazard(energy_uj: float, more: float) -> None:
    less, most = found(1e-6 * energy_uj), found(1e-6 * energy_uj * more)
    assert most.beam.eyewear.optical_density > less.beam.eyewear.optical_density
    assert most.skin_share > less.skin_share
    for one, other in zip(less.ways, most.ways, strict=True):
        assert other.distance_m >= one.distance_m


@given(rate=st.floats(10e3, 199e3))
def test_no_rate_is_safer_than_the_directive_alone_says(rate: float) -> None:
    told = found(rate_hz=rate)
    assert told.stricter.limit_j_per_m2 <= told.legal.limit_j_per_m2


@pytest.mark.exact
@pytest.mark.parametrize("edge_nm", [700.0, 1050.0, 1150.0, 1200.0])
def test_limits_do_not_jump_up_when_the_light_is_less_dangerous(edge_nm: float) -> None:
    """Each band's limit meets its neighbour or rises at the edge; it never falls with wavelength."""

    def limit(wavelength_nm: float) -> float:
        return train_limit(
            "eye", wavelength_m=wavelength_nm * 1e-9, pulse_s=10e-9, rate_hz=20e3, exposure_s=10.0,
            edition="directive_2006_25_ec",
        ).limit_j_per_m2  # fmt: skip

    assert limit(edge_nm + 1e-3) >= limit(edge_nm) * (1.0 - 1e-9)


def test_an_eyewear_density_of_zero_is_refused_with_limit_and_authority() -> None:
    told = found()
    with pytest.raises(Refused) as refused:
        require_density(0.0, needed=told.beam.eyewear, limit=told.stricter)
    text = str(refused.value)
    assert "optical density is 0" in text
    assert f"asks for {told.beam.eyewear.optical_density:.1f} or more" in text
    assert "Directive 2006/25/EC, Annex II" in text
    assert "laser safety officer" in text


@pytest.mark.parametrize("density", [-1.0, math.nan, math.inf, 16.0])
def test_a_density_that_no_label_says_is_refused(density: float) -> None:
    told = found()
    with pytest.raises(OutOfRange, match="Read the label"):
        require_density(density, needed=told.beam.eyewear, limit=told.stricter)


def test_a_density_that_suffices_passes_silently() -> None:
    told = found()
    require_density(told.beam.eyewear.optical_density, needed=told.beam.eyewear, limit=told.stricter)
    with pytest.raises(Refused):
        require_density(
            told.beam.eyewear.optical_density - 0.01, needed=told.beam.eyewear, limit=told.stricter
        )


@pytest.mark.parametrize(
    "changes", [{"reflected_share": 1.1}, {"limit_w_per_m2": 0.0}, {"power_w": math.nan}]
)
def test_a_dull_surface_that_cannot_be_is_refused(changes: dict[str, float]) -> None:
    with pytest.raises(OutOfRange):
        dull_distance_m(**({"power_w": 1.0, "limit_w_per_m2": 10.0} | changes))


def test_light_outside_the_tables_is_refused() -> None:
    with pytest.raises(OutOfRange, match="ask the responsible laser safety officer"):
        estimates(
            replace(LASER, wavelength_m=10.6e-6),
            RIG.lens,
            pulse_energy_j=1e-4,
            rate_hz=20e3,
            mirrored_shares={},
        )


def test_the_enclosure_is_advised_with_the_figures_it_rests_on() -> None:
    told = found()
    text = " ".join(enclosure_advice(told))
    assert show_metres(told.ways[0].distance_m) in text
    assert "interlock" in text
    assert f"{told.beam.eyewear.optical_density:.1f}" in text


@pytest.mark.parametrize(("length_m", "said"), [(3337.6, "3340 m"), (0.4494, "0.449 m"), (25.42, "25.4 m")])
def test_metres_are_written_without_an_exponent(length_m: float, said: str) -> None:
    assert show_metres(length_m) == said


# --- chemicals and waste ------------------------------------------------------------------------


@pytest.mark.common_practice
@pytest.mark.parametrize(
    ("topic", "words"),
    [
        ("first aid", "15 minutes"), ("first aid", "never make them vomit"),
        ("first aid", "eye clinic"), ("first aid", "needles"), ("first aid", "fresh air"),
        ("wear", "Nitrile gloves"), ("wear", "goggles"),
        ("air", "acid gases"), ("air", "Wipe wet"), ("spill", "sodium bicarbonate"),
        ("storage", "settles out"), ("label", "hazard words"), ("waste", "never to the drain"),
        ("waste", "under local rules"),
        ("waste", "rigid container"),
    ],
)  # fmt: skip
def test_what_must_be_said_of_chemicals_and_waste_is_said(topic, words: str) -> None:
    assert any(words in line.text or words in line.about for line in handling_of(topic))


def test_every_line_of_handling_defers_to_those_who_decide() -> None:
    assert {line.topic for line in HANDLING} == set(TOPICS)
    assert all("rules" in line.defers_to for line in HANDLING)
