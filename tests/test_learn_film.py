import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import betabinom, nbinom, norm

from bench_records import BATH, RIG
from farface.etch.bench import etch_bench
from farface.etch.forecast import QUANTITIES, Forecast
from farface.learn.film import (
    BURST_SCATTER,
    COUNT_SCATTER,
    EVENT_SCATTER,
    LIFE_SCATTER,
    MEDIAN_COST,
    Film,
    Watched,
    log_film,
    point_s,
    watch,
)
from farface.records import SEEN, Bubble, FilmReading, FilmScale, Flash, Setting

BENCH = etch_bench(RIG, BATH)
SETTING = Setting(pulse_energy_j=3e-4, rate_hz=40e3, pulses_per_point=8, pitch_m=15e-6, passes=1)
SCALE = FilmScale(frame_hz=30e3, exposure_s=8e-6, pixel_m=10e-6, face_row_px=50.0)


def bubble(life_s: float = 50e-6, below_m: float = 80e-6) -> Bubble:
    return Bubble(
        first_s=0.0, life_s=life_s, along_m=0.0, below_m=below_m, radius_max_m=1e-4, times_s=(), radii_m=()
    )  # fmt: skip


def flash(below_m: float = 10e-6) -> Flash:
    return Flash(time_s=0.0, along_m=0.0, below_m=below_m, area_m2=1e-9, brightness=1.0, frames_lit=1)


def film(bubbles: int = 0, flashes: int = 0, **event: float) -> Film:
    reading = FilmReading(
        film="drawn", scale=SCALE, frames=3000, duration_s=0.1,
        flashes=(flash(),) * flashes, bubbles=(bubble(**event),) * bubbles,
    )  # fmt: skip
    return Film(plate="A", setting=SETTING, reading=reading)


def ahead(*, between_flashes: float, life_s: float, column_m: float) -> Forecast:
    values = np.ones((1, 1, len(QUANTITIES)))
    for name, value in (
        ("pulses_between_flashes", between_flashes),
        ("bubble_life_s", life_s),
        ("column_m", column_m),
    ):
        values[0, 0, QUANTITIES.index(name)] = value
    return Forecast(odds=np.full((1, 1, 6), 1 / 6), values=values)


def test_pulses_sent_are_those_of_hatching() -> None:
    assert point_s(BENCH, SETTING) == pytest.approx(8 / 40e3 + 55e-6 + 15e-6 / 3.0)
    assert watch(film(3), BENCH).sent == pytest.approx(0.1 / point_s(BENCH, SETTING) * 8)


def test_bubbles_are_counted_and_flashes_only_without_them() -> None:
    both = watch(film(bubbles=3, flashes=7), BENCH)
    assert (both.counted, both.lasting, both.burst_m) == (3, True, 80e-6)
    dark = watch(film(flashes=7), BENCH)
    assert (dark.counted, dark.lasting, dark.burst_m, dark.life_s) == (7, False, 10e-6, None)
    still = watch(film(), BENCH)
    assert (still.counted, still.life_s, still.burst_m) == (0, None, None)


def test_a_burst_at_the_face_is_no_deeper_than_a_picture_can_tell() -> None:
    assert watch(film(bubbles=2, below_m=-3e-6), BENCH).burst_m == pytest.approx(0.5 * SCALE.pixel_m)


@pytest.mark.exact
def test_the_likelihood_of_a_film_by_hand() -> None:
    count, life_s, column_m = 40, 60e-6, 100e-6
    watched = watch(film(bubbles=count), BENCH)
    mean = watched.sent / 20.0 * min((SCALE.exposure_s + life_s) * SCALE.frame_hz, 1.0)
    size = 1.0 / COUNT_SCATTER**2
    events = MEDIAN_COST * EVENT_SCATTER / math.sqrt(count)
    life_width = math.hypot(LIFE_SCATTER, 0.5 / SCALE.frame_hz / 50e-6, events)
    burst_width = math.hypot(BURST_SCATTER, SCALE.pixel_m / 80e-6, events)
    exact = (
        nbinom(size, size / (size + mean)).logpmf(count)
        + norm(math.log(life_s), life_width).logpdf(math.log(50e-6))
        + norm(math.log(column_m), burst_width).logpdf(math.log(80e-6))
    )
    found = log_film(watched, ahead(between_flashes=20.0, life_s=life_s, column_m=column_m), 0)
    assert found[0] == pytest.approx(exact, abs=1e-8)


@pytest.mark.exact
def test_a_flash_is_caught_only_by_an_open_shutter() -> None:
    watched = watch(film(flashes=12), BENCH)
    mean = watched.sent / 20.0 * SCALE.exposure_s * SCALE.frame_hz
    size = 1.0 / COUNT_SCATTER**2
    found = log_film(watched, ahead(between_flashes=20.0, life_s=60e-6, column_m=10e-6), 0)
    burst_width = math.hypot(BURST_SCATTER, 1.0, MEDIAN_COST * EVENT_SCATTER / math.sqrt(12))
    exact = nbinom(size, size / (size + mean)).logpmf(12) + norm(0.0, burst_width).logpdf(0.0)
    assert found[0] == pytest.approx(exact, abs=1e-8)


def test_a_film_without_events_speaks_for_rare_ignition() -> None:
    watched = watch(film(), BENCH)
    often, rarely, never = (
        log_film(watched, ahead(between_flashes=pulses, life_s=60e-6, column_m=1e-4), 0)[0]
        for pulses in (10.0, 1e4, 1e12)
    )
    assert often < rarely < never
    assert never == pytest.approx(0.0, abs=1e-6)


def test_a_film_full_of_bubbles_denies_a_draw_that_never_ignites() -> None:
    found = log_film(watch(film(30), BENCH), ahead(between_flashes=4e12, life_s=0.0, column_m=0.0), 0)
    assert np.isfinite(found[0])
    assert found[0] < -100.0


def growing_film(areas_m2: list[float]) -> Film:
    still = film()
    flashes = tuple(
        Flash(time_s=k * 1e-3, along_m=0.0, below_m=0.0, area_m2=area_m2, brightness=1.0, frames_lit=1)
        for k, area_m2 in enumerate(areas_m2)
    )
    return replace(still, reading=replace(still.reading, flashes=flashes, bubbles=(bubble(),) * 9))


def for_runaway(watched: Watched) -> float:
    """Say by how much a film's log likelihood rises from a draw that never runs away to one that does."""
    blank = ahead(between_flashes=20.0, life_s=60e-6, column_m=1e-4)
    calm, wild = np.zeros((1, 1, 6)), np.zeros((1, 1, 6))
    calm[..., SEEN.index("steady")] = wild[..., SEEN.index("runaway")] = 1.0
    found = [log_film(watched, Forecast(odds=odds, values=blank.values), 0)[0] for odds in (calm, wild)]
    return float(found[1] - found[0])


@pytest.mark.exact
def test_growing_flashes_speak_for_a_runaway_as_much_as_beta_binomials_say() -> None:
    watched = watch(growing_film([1e-9 * 1.1**k for k in range(13)]), BENCH)
    assert watched.growing == (12, 12)
    exact = betabinom(12, 8, 2).logpmf(12) - betabinom(12, 5, 5).logpmf(12)
    assert for_runaway(watched) == pytest.approx(exact, abs=1e-9)
    assert exact > 2.0


def test_flashes_that_do_not_grow_speak_against_a_runaway_and_none_say_nothing() -> None:
    assert for_runaway(watch(growing_film([1e-9, 1.2e-9] * 6), BENCH)) < -0.5
    assert for_runaway(watch(film(bubbles=9), BENCH)) == 0.0
