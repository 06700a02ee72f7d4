"""Hold energies of bubbles to closed forms, and the odds of regimes to what tells them apart."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from farface.learn.bubble_energy import bubble_energies, collapse_beyond_rayleigh_ratio
from farface.learn.regime import BURSTS, EXPECTED, OCCASIONAL, RUNAWAY, STEADY, Tally, regime_odds, tally
from farface.materials.bubble_life import WATER_KG_PER_M3, WATER_OVERPRESSURE_PA, life_s
from farface.records import Bubble, FilmReading, FilmScale, Flash

PRINTED = 1e-4  # relative: 51.829 uJ
NEAR_RAYLEIGH = 0.03  # relative, from 50 um to 1 mm

SCALE = FilmScale(frame_hz=30_000.0, exposure_s=8e-6, pixel_m=1e-5, face_row_px=40.0)


def _bubble(radius_m: float, below_m: float, bubble_life_s: float) -> Bubble:
    return Bubble(
        first_s=0.0, life_s=bubble_life_s, along_m=0.0, below_m=below_m, radius_max_m=radius_m,
        times_s=(0.0,), radii_m=(radius_m,),
    )  # fmt: skip


@pytest.mark.exact
def test_a_free_bubble_of_500_um_holds_52_uj_by_size_and_by_life() -> None:
    lasts_s = life_s(500e-6, WATER_KG_PER_M3, WATER_OVERPRESSURE_PA)
    (energy,) = bubble_energies([_bubble(500e-6, 1.0, lasts_s)])
    assert energy.energy_j == pytest.approx(51.829e-6, rel=PRINTED)
    assert energy.energy_from_life_j == pytest.approx(51.829e-6, rel=3 * 2.1e-4)


@pytest.mark.exact
def test_a_half_bubble_holds_half_and_lives_as_long() -> None:
    lasts_s = life_s(300e-6, WATER_KG_PER_M3, WATER_OVERPRESSURE_PA)
    half, whole = bubble_energies([_bubble(300e-6, 0.0, lasts_s), _bubble(300e-6, 1.0, lasts_s)])
    assert half.standoff_ratio == 0.0
    assert half.energy_j == pytest.approx(0.5 * whole.energy_j)
    assert half.energy_from_life_j == pytest.approx(half.energy_j)


@pytest.mark.exact
@pytest.mark.parametrize("radius_m", [50e-6, 300e-6, 1e-3])
def test_keller_and_miksis_hardly_differ_from_rayleigh(radius_m: float) -> None:
    assert collapse_beyond_rayleigh_ratio(radius_m) == pytest.approx(1.0, abs=NEAR_RAYLEIGH)


@given(
    ignited=st.integers(0, 60), more=st.integers(0, 60), deep=st.integers(0, 60), growing=st.integers(0, 60)
)
def test_odds_add_up_to_one(ignited: int, more: int, deep: int, growing: int) -> None:
    counts = Tally(
        ignited=(ignited, ignited + more), deep=(deep, deep + more), growing=(growing, growing + 3)
    )
    assert sum(regime_odds(counts).values()) == pytest.approx(1.0)


@pytest.mark.common_practice
@pytest.mark.parametrize(
    ("counts", "regime"),
    [
        (Tally(ignited=(700, 1000), deep=(20, 700), growing=(0, 0)), STEADY),
        (Tally(ignited=(40, 1000), deep=(4, 40), growing=(0, 0)), OCCASIONAL),
        (Tally(ignited=(900, 1000), deep=(800, 900), growing=(0, 0)), BURSTS),
        (Tally(ignited=(700, 1000), deep=(30, 700), growing=(18, 20)), RUNAWAY),
        (Tally(ignited=(0, 1000), deep=(0, 0), growing=(0, 0)), OCCASIONAL),
    ],
)
def test_clear_films_are_told_apart(counts: Tally, regime: str) -> None:
    odds = regime_odds(counts)
    assert max(odds, key=lambda name: odds[name]) == regime
    assert set(odds) == set(EXPECTED)


@pytest.mark.exact
def test_a_film_is_counted() -> None:
    radius_m = 5e-5
    flashes = tuple(
        Flash(time_s=k * 1e-3, along_m=1e-3, below_m=0.0, area_m2=math.pi * radius_m**2 * (1 + 0.1 * k),
              brightness=1.0, frames_lit=1)
        for k in range(4)
    )  # fmt: skip
    reading = FilmReading(
        film="made up", scale=SCALE, frames=300, duration_s=0.01, flashes=flashes,
        bubbles=(_bubble(2e-4, 0.0, 1e-4), _bubble(2e-4, 5e-4, 1e-4)),
    )  # fmt: skip
    assert tally(reading, point_s=1e-3) == Tally(ignited=(2, 10), deep=(1, 2), growing=(3, 3))
