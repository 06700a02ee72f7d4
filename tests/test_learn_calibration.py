"""Simulation-based calibration: benches drawn from the prior and run on the model itself, then fitted.

If the sampler and the likelihood are right, the truth's rank among the draws of its posterior is uniform,
for every unknown, every plate's offset, and the log likelihood itself.
"""

import numpy as np
import pytest
from scipy.stats import kstest

from bench_records import BATH, RIG
from farface.etch.bench import EtchBench, etch_bench
from farface.etch.forecast import forecast
from farface.etch.unknowns import draw_prior
from farface.learn.film import COUNT_SCATTER, EVENT_SCATTER, MEDIAN_COST, Film, log_film, watch
from farface.learn.likelihood import log_likelihood
from farface.learn.plates import PLATE_WIDTH, by_plate, on_plate
from farface.learn.posterior import fit
from farface.learn.replicate import replicate
from farface.learn.seen import misreading
from farface.records import Bubble, FilmReading, FilmScale, Setting

BENCH: EtchBench = etch_bench(RIG, BATH)
BENCHES = 40
# Odds of a false alarm over all ranks together.
ALARM = 0.01
SETTINGS = [
    Setting(pulse_energy_j=energy_j, rate_hz=rate_hz, pulses_per_point=pulses, pitch_m=15e-6, passes=10)
    for rate_hz, energies_j in ((20e3, (1.5e-4, 3e-4)), (50e3, (2e-4, 4e-4)))
    for pulses in (4, 10)
    for energy_j in energies_j
]
FILMED = SETTINGS[6]
# Fast enough that no life is shortened by a frame, so that what is drawn is what the likelihood believes.
SCALE = FilmScale(frame_hz=1e6, exposure_s=1e-6, pixel_m=1e-7, face_row_px=0.0)


def filmed(draw: np.ndarray, offset: float, rng: np.random.Generator) -> Film:
    """Draw a film whose count and medians scatter as the likelihood says; its bubbles are all alike."""
    ahead = forecast(BENCH, [FILMED], on_plate(draw[None], np.array([offset])), threads=1)

    def film(bubbles: int, life_s: float, below_m: float) -> Film:
        one = Bubble(
            first_s=0.0, life_s=life_s, along_m=0.0, below_m=below_m, radius_max_m=0.0, times_s=(), radii_m=()
        )  # fmt: skip
        reading = FilmReading(
            film="drawn", scale=SCALE, frames=20_000, duration_s=0.02, flashes=(), bubbles=(one,) * bubbles
        )
        return Film(plate="A", setting=FILMED, reading=reading)

    sent = watch(film(0, 1.0, 1.0), BENCH).sent
    mean = sent / ahead.quantity("pulses_between_flashes")[0, 0]
    count = int(rng.poisson(mean * rng.gamma(1.0 / COUNT_SCATTER**2, COUNT_SCATTER**2)))
    events = MEDIAN_COST * EVENT_SCATTER / np.sqrt(max(count, 1))
    life, burst = rng.standard_normal(2) * np.hypot((0.20, 0.30), events)
    life_s = ahead.quantity("bubble_life_s")[0, 0] * np.exp(life)
    return film(count, float(life_s), float(ahead.quantity("column_m")[0, 0] * np.exp(burst)))


def ranks(seed: int) -> np.ndarray:
    """Return the truth's rank as a share, for unknowns, offsets and log likelihood, of one drawn bench."""
    rng = np.random.default_rng(seed)
    truth, offsets = draw_prior(BENCH, 1, rng), PLATE_WIDTH * rng.standard_normal((1, 2))
    outcomes = [
        outcome
        for plate, half, offset in zip("AB", (SETTINGS[::2], SETTINGS[1::2]), offsets[0], strict=True)
        for outcome in replicate(BENCH, half, truth[0], rng, plate=plate, offset=offset)
    ]
    films = [filmed(truth[0], offsets[0, 0], rng)]
    posterior = fit(BENCH, outcomes, films, rng)
    log_truth = log_likelihood(BENCH, by_plate(BENCH, outcomes, films), truth, offsets, misread=misreading())
    drawn = np.column_stack((posterior.draws, posterior.plate_offsets, posterior.log_likelihoods))
    true = np.concatenate((truth[0], offsets[0], log_truth))
    # Half of the ties: draws that never ignite share one log likelihood.
    below = (drawn < true).mean(axis=0) + 0.5 * (drawn == true).mean(axis=0)
    return np.asarray(below)


def assert_uniform(found: np.ndarray) -> None:
    """Hold ranks, shape (bench, quantity), to a uniform law, and 90 % intervals to what they promise."""
    odds = np.array([kstest(column, "uniform").pvalue for column in found.T])
    assert odds.min() > ALARM / len(odds), np.round(odds, 4)
    covered = ((found > 0.05) & (found < 0.95)).mean()
    assert 0.85 <= covered <= 0.95, covered


@pytest.mark.calibration
@pytest.mark.slow
def test_the_posterior_is_calibrated_under_the_model_itself() -> None:
    """Fit 40 drawn benches of 8 cells on two plates and a film; about two minutes on two cores."""
    assert_uniform(np.array([ranks(seed) for seed in range(BENCHES)]))


@pytest.mark.calibration
@pytest.mark.parametrize("fault", ["shifted", "too narrow", "too wide"])
def test_the_calibration_test_can_fail(fault: str) -> None:
    """Hand it ranks of a posterior that is half a width off, or whose width is wrong by a half."""
    from scipy.stats import norm

    z = np.random.default_rng(1).standard_normal((BENCHES, 18))
    wrong = {"shifted": z + 0.8, "too narrow": 1.6 * z, "too wide": z / 1.8}[fault]
    with pytest.raises(AssertionError):
        assert_uniform(norm.cdf(wrong))
    assert_uniform(norm.cdf(z))


def test_a_drawn_film_is_likely_under_its_own_draw() -> None:
    rng = np.random.default_rng(3)
    draws = draw_prior(BENCH, 30, rng)
    watched = watch(filmed(draws[0], 0.0, rng), BENCH)
    found = log_film(watched, forecast(BENCH, [FILMED], draws, threads=1), 0)
    assert found[0] > np.median(found[1:])
