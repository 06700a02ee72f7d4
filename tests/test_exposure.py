"""Hold the exposure limits to printed values, and to the shape that any limit must have."""

import itertools
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from farface.kernel import OutOfRange
from farface.records import Laser, Lens
from farface.safety.beam import beam_hazard, eyewear_density, hazard_distance
from farface.safety.exposure import NOT_A_CLEARANCE, single_pulse_limit, train_limit
from farface.safety.limit_tables import BANDS, find_band

DIRECTIVE = "directive_2006_25_ec"
LATER = "later_edition_from_memory"
NM = 1e-9
PRINTED_REL = 1e-3  # four printed digits
EXACT_REL = 1e-12  # rounding of floats


def eye(duration_s: float, wavelength_m: float = 1064 * NM, edition=DIRECTIVE) -> float:
    limit = single_pulse_limit("eye", wavelength_m=wavelength_m, duration_s=duration_s, edition=edition)
    return limit.limit_j_per_m2


def train(rate_hz: float, edition=DIRECTIVE, wavelength_m: float = 1064 * NM, exposure_s: float = 10.0):
    return train_limit(
        "eye",
        wavelength_m=wavelength_m,
        pulse_s=10e-9,
        rate_hz=rate_hz,
        exposure_s=exposure_s,
        edition=edition,
    )


# --- printed: Directive 2006/25/EC, Annex II ---------------------------------------------------


@pytest.mark.published
def test_eye_single_pulse_of_10_ns_at_1064_nm() -> None:  # Table 2.2
    assert eye(10e-9) == pytest.approx(0.05, rel=EXACT_REL)


@pytest.mark.published
def test_eye_for_10_s_at_1064_nm() -> None:  # Table 2.2: 90 t^0.75
    assert eye(10.0) == pytest.approx(506.1, rel=1e-4)


@pytest.mark.published
@pytest.mark.parametrize(
    ("wavelength_nm", "duration_s", "printed_j_per_m2"),
    [
        (532.0, 5e-12, 1.5e-4),
        (532.0, 10e-9, 5e-3),
        (1064.0, 5e-12, 1.5e-3),
        (1064.0, 5e-10, 2.7e5 * 5e-10**0.75),
        (800.0, 10e-9, 5e-3 * 10**0.2),
        (1300.0, 10e-9, 8 * 5e-2),
        (1180.0, 10e-9, 5e-2 * 10 ** (0.018 * 30)),
    ],
)
def test_rows_of_table_2_2(wavelength_nm: float, duration_s: float, printed_j_per_m2: float) -> None:
    assert eye(duration_s, wavelength_nm * NM) == pytest.approx(printed_j_per_m2, rel=1e-9)


@pytest.mark.published
def test_train_at_20_khz_for_10_s_is_governed_by_rule_3() -> None:  # Table 2.6
    limit = train(20e3)
    assert limit.limit_j_per_m2 == pytest.approx(2.364e-3, rel=PRINTED_REL)
    assert limit.governing.startswith("rule 3")
    assert limit.pulses_per_group == 1


@pytest.mark.published
def test_pulses_inside_t_min_are_grouped_at_100_khz() -> None:  # Table 2.6, T_min 50 us
    limit = train(100e3)
    assert limit.pulses_per_group == 5
    assert limit.limit_j_per_m2 == pytest.approx(4.729e-4, rel=PRINTED_REL)
    ungrouped = limit.single_pulse_j_per_m2 * limit.pulses**-0.25
    assert limit.limit_j_per_m2 < 0.4 * ungrouped  # the trap: forgetting the grouping is far too lenient


@pytest.mark.published
def test_skin_at_1064_nm() -> None:  # Table 2.4 with C_A = 5 above 1050 nm
    short = single_pulse_limit("skin", wavelength_m=1064 * NM, duration_s=10e-9, edition=DIRECTIVE)
    assert short.limit_j_per_m2 == pytest.approx(1000.0, rel=EXACT_REL)
    long = single_pulse_limit("skin", wavelength_m=1064 * NM, duration_s=100.0, edition=DIRECTIVE)
    assert long.limit_w_per_m2 == pytest.approx(1e4, rel=EXACT_REL)


@pytest.mark.published
def test_visible_worked_example() -> None:
    """A worked example printed in a public course text: 488 nm, 0.25 s, 3.8 W/cm2 -> 2.55 mW/cm2, OD 3.2."""
    limit = single_pulse_limit("eye", wavelength_m=488 * NM, duration_s=0.25)
    assert limit.limit_w_per_m2 / 10.0 == pytest.approx(2.55, abs=0.005)  # mW/cm2, half the last digit
    density = eyewear_density(exposure_j_per_m2=3.8e4 * 0.25, limit_j_per_m2=limit.limit_j_per_m2)
    assert density.optical_density == pytest.approx(3.2, abs=0.05)


@pytest.mark.published
def test_eyewear_density_of_a_printed_example() -> None:
    """Printed in a public guide to eyewear: exposure 12.5 against a limit of 5e-6 asks for OD 6.4."""
    density = eyewear_density(exposure_j_per_m2=12.5, limit_j_per_m2=5e-6)
    assert density.optical_density == pytest.approx(6.398, rel=PRINTED_REL)


# --- from memory --------------------------------------------------------------------------------


@pytest.mark.from_memory
def test_later_edition_is_stricter_and_is_the_default() -> None:
    chosen = single_pulse_limit("eye", wavelength_m=1064 * NM, duration_s=10e-9)
    assert chosen.limit_j_per_m2 == pytest.approx(0.02)
    assert chosen.edition == LATER
    assert "from memory" in chosen.table
    assert eye(10e-9) / chosen.limit_j_per_m2 == pytest.approx(2.5)


@pytest.mark.from_memory
def test_nominal_hazard_distance() -> None:
    found = hazard_distance(power_w=20.0, divergence_rad=1e-3, beam_diameter_m=7e-3, limit_w_per_m2=50.61)
    assert found.distance_m == pytest.approx(702.3, rel=PRINTED_REL)


# --- exact: what any limit must do --------------------------------------------------------------


@pytest.mark.exact
@pytest.mark.parametrize("wavelength_nm", [450.0, 700.0, 900.0, 1050.0, 1064.0, 1150.0, 1400.0])
@pytest.mark.parametrize("organ", ["eye", "skin"])
def test_limits_join_up_where_rows_meet(organ: str, wavelength_nm: float) -> None:
    """The printed rows meet within their rounding: at worst 7 %, at 50 us above 1050 nm."""
    band = find_band(DIRECTIVE, organ, wavelength_nm * NM)
    assert band is not None
    for before, after in itertools.pairwise(band.steps):
        t = before.until_s
        low, high = before.factor * t**before.power, after.factor * t**after.power
        assert low == pytest.approx(high, rel=0.08), (organ, wavelength_nm, t)


@pytest.mark.exact
@given(
    rate_hz=st.floats(1e3, 2e6),
    wavelength_nm=st.sampled_from([532.0, 900.0, 1064.0, 1300.0]),
    exposure_s=st.floats(0.01, 10.0),
)
def test_a_train_is_never_allowed_more_than_its_parts(
    rate_hz: float, wavelength_nm: float, exposure_s: float
) -> None:
    limit = train(rate_hz, None, wavelength_nm * NM, exposure_s)
    lawful = train(rate_hz, DIRECTIVE, wavelength_nm * NM, exposure_s)
    assert limit.limit_j_per_m2 <= lawful.limit_j_per_m2
    assert lawful.limit_j_per_m2 <= eye(10e-9, wavelength_nm * NM)
    assert lawful.limit_j_per_m2 * lawful.pulses <= eye(exposure_s, wavelength_nm * NM) * (1 + 1e-12)


@pytest.mark.exact
def test_hazard_distance_is_where_irradiance_falls_to_the_limit() -> None:
    found = hazard_distance(power_w=8.0, divergence_rad=0.05, beam_diameter_m=1e-3, limit_w_per_m2=20.0)
    diameter_m = 1e-3 + 0.05 * found.distance_m
    assert 8.0 / (math.pi / 4.0 * diameter_m**2) == pytest.approx(20.0, rel=1e-9)


def test_a_weak_beam_has_no_hazard_distance_and_needs_no_density() -> None:
    weak = hazard_distance(power_w=1e-6, divergence_rad=1e-3, beam_diameter_m=7e-3, limit_w_per_m2=50.0)
    assert weak.distance_m == 0.0
    assert eyewear_density(exposure_j_per_m2=1e-9, limit_j_per_m2=1e-3).optical_density == 0.0


@pytest.fixture
def laser() -> Laser:
    return Laser(
        wavelength_m=1064e-9,
        pulse_s=8e-9,
        rated_power_w=20.0,
        rated_energy_j=1e-3,
        corner_hz=20e3,
        rate_min_hz=1e3,
        rate_max_hz=200e3,
        m2=1.4,
    )


def test_a_bench_laser_needs_strong_eyewear(laser: Laser) -> None:
    lens = Lens(focal_m=0.16, beam_radius_m=4e-3)
    hazard = beam_hazard(laser, lens, pulse_energy_j=0.4e-3, rate_hz=40e3)
    per_pulse_j_per_m2 = 0.4e-3 / (math.pi * 3.5e-3**2)
    expected = math.log10(per_pulse_j_per_m2 / hazard.limit.limit_j_per_m2)
    assert hazard.eyewear.optical_density == pytest.approx(expected, rel=1e-9)
    assert hazard.eyewear.optical_density > 4.0
    assert hazard.distance.distance_m > 10.0
    for record in (hazard, hazard.limit, hazard.eyewear, hazard.distance):
        assert record.words == NOT_A_CLEARANCE == "estimate, not a clearance"


def test_energy_beyond_the_rating_is_refused(laser: Laser) -> None:
    with pytest.raises(OutOfRange, match="rated for"):
        beam_hazard(laser, Lens(focal_m=0.16, beam_radius_m=4e-3), pulse_energy_j=2e-3, rate_hz=20e3)


@pytest.mark.parametrize(
    ("organ", "wavelength_nm", "duration_s", "edition"),
    [
        ("eye", 399.0, 1e-8, None),
        ("eye", 1401.0, 1e-8, None),
        ("eye", 10600.0, 1e-8, None),
        ("eye", 1064.0, 11.0, None),
        ("eye", 1064.0, 1e-14, None),
        ("eye", 532.0, 1e-8, LATER),
        ("skin", 1064.0, 1e-8, LATER),
    ],
)
def test_what_no_table_covers_is_refused(organ, wavelength_nm, duration_s, edition) -> None:
    with pytest.raises(OutOfRange, match="safety officer"):
        single_pulse_limit(organ, wavelength_m=wavelength_nm * NM, duration_s=duration_s, edition=edition)


def test_a_train_needs_a_pulse() -> None:
    with pytest.raises(OutOfRange, match="no whole pulse"):
        train(0.01)


def test_band_edges_belong_to_the_shorter_band_as_printed() -> None:
    assert find_band(DIRECTIVE, "eye", 1050e-9) is BANDS[DIRECTIVE, "eye"][0]
    assert find_band(DIRECTIVE, "eye", 1.0500001e-6) is BANDS[DIRECTIVE, "eye"][1]
