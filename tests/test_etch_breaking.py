import math

import pytest

from farface.etch.breaking import BREAKING_WIDTH, WEIBULL_MODULUS, Plate, breaking_odds

SODA = Plate(72e9 * 9e-6, 50e6, 1e-3, 5e-7)
GENTLE = 1e-3  # of the breaking fluence: a pulse alone never cracks it


def odds(*, rise_k: float = 0.0, fluence: float = GENTLE, side_m: float = 1e-2, plate: Plate = SODA) -> float:
    return breaking_odds(fluence, 1.0, rise_k, 100.0, side_m, plate)


@pytest.mark.exact
def test_half_of_the_cells_crack_at_the_breaking_fluence() -> None:
    assert odds(fluence=1.0) == pytest.approx(0.5)
    assert odds(fluence=math.exp(BREAKING_WIDTH)) == pytest.approx(0.8413, abs=1e-4)


@pytest.mark.exact
def test_a_rim_pulled_to_its_strength_fails_in_all_but_one_of_e() -> None:
    """On the reference area, Weibull gives 1 - 1/e at sigma = sigma0."""
    rise_k = 2.0 * SODA.strength_pa / SODA.stress_pa_per_k
    assert odds(rise_k=rise_k) == pytest.approx(1.0 - math.exp(-1.0), rel=1e-9)


@pytest.mark.exact
def test_the_weakest_of_many_areas_is_the_area_rule() -> None:
    """Four cells survive together as one of four times the area does."""
    assert (1.0 - odds(rise_k=120.0, side_m=1e-2)) ** 4 == pytest.approx(
        1.0 - odds(rise_k=120.0, side_m=2e-2)
    )


@pytest.mark.exact
def test_odds_grow_with_the_power_of_the_modulus_while_small() -> None:
    ratio = odds(rise_k=20.0) / odds(rise_k=10.0)
    assert ratio == pytest.approx(2.0**WEIBULL_MODULUS, rel=1e-2)


def test_a_glass_that_expands_less_holds_longer() -> None:
    low = Plate(63e9 * 3.3e-6, 50e6, 1e-3, 6e-7)
    assert odds(rise_k=150.0, plate=low) < 0.02 * odds(rise_k=150.0)


@pytest.mark.published
def test_stress_per_kelvin_of_soda_lime() -> None:
    """E a / (1 - nu) of soda-lime glass is 0.831 MPa/K; the rim of a hot spot bears half of E a."""
    assert SODA.stress_pa_per_k / (1.0 - 0.22) == pytest.approx(0.831e6, rel=1e-3)
