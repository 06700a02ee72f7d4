import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import kstest, norm

from farface.kernel import OutOfRange
from farface.learn.diagnostics import autocorrelation_steps, diagnose, enough, island_effective, split_rhat
from farface.learn.tempering import ISLANDS, MOST_STAGES, next_share, sample

# Four standard errors of a mean of some 500 independent draws, in standard deviations.
ERRORS = 4.0 / math.sqrt(500)


def draws(log_likelihood, dimensions=3, *, seed=1, walkers=512, steps=24):
    chains = sample(log_likelihood, dimensions, np.random.default_rng(seed), walkers=walkers, steps=steps)
    return chains, chains.places.reshape(-1, dimensions)


@pytest.mark.exact
def test_a_normal_likelihood_gives_the_normal_posterior() -> None:
    """A reading of 2 with error 0.1 on the first place: N(2 / 1.01, 0.01 / 1.01); the others stay."""
    chains, found = draws(lambda z: norm.logpdf(2.0, z[:, 0], 0.1))
    assert chains.stopped is None
    sd = math.sqrt(0.01 / 1.01)
    assert found.mean(axis=0) == pytest.approx([2.0 / 1.01, 0.0, 0.0], abs=ERRORS)
    assert found[:, 0].mean() == pytest.approx(2.0 / 1.01, abs=ERRORS * sd)
    assert found.std(axis=0) == pytest.approx([sd, 1.0, 1.0], rel=ERRORS)
    assert np.corrcoef(found.T)[0, 1] == pytest.approx(0.0, abs=ERRORS)


@pytest.mark.exact
def test_a_sum_read_sharply_ties_its_terms() -> None:
    _, found = draws(lambda z: norm.logpdf(1.0, z.sum(axis=1), 0.05))
    assert found.sum(axis=1).mean() == pytest.approx(3.0 / (3.0 + 0.05**2), abs=0.01)
    assert np.corrcoef(found.T)[0, 1] == pytest.approx(-0.5, abs=ERRORS)


@pytest.mark.exact
def test_two_modes_keep_their_weights() -> None:
    """Readings of +2 or -2 alike, the one twice as likely: two thirds of the posterior lie there."""
    _, found = draws(
        lambda z: np.logaddexp(
            math.log(2.0) + norm.logpdf(z[:, 0], 2.0, 0.2), norm.logpdf(z[:, 0], -2.0, 0.2)
        ),
        dimensions=2,
        walkers=1024,
    )
    assert (found[:, 0] > 0).mean() == pytest.approx(2.0 / 3.0, abs=0.06)  # resampling noise of 1024 walkers


@pytest.mark.exact
def test_without_a_likelihood_the_prior_remains() -> None:
    chains, found = draws(lambda z: np.zeros(len(z)), dimensions=2)
    assert chains.stages == 1
    assert kstest(found[:512, 1], "norm").pvalue > 0.001


def test_a_step_of_the_likelihood_is_no_obstacle() -> None:
    _, found = draws(lambda z: np.where(z[:, 0] > 2.0, 0.0, -50.0))
    assert found[:, 0].min() > 2.0
    assert found[:, 0].mean() == pytest.approx(2.0 + 0.373, abs=0.05)  # normal beyond 2: pdf / tail = 2.373


def test_a_likelihood_that_is_no_number_counts_as_zero() -> None:
    _, found = draws(lambda z: np.where(z[:, 0] > 0.0, 0.0, np.nan))
    assert found[:, 0].min() > 0.0


def test_the_same_seed_gives_the_same_chains() -> None:
    one, two, other = (draws(lambda z: -(z[:, 0] ** 2), seed=seed)[1] for seed in (1, 1, 2))
    assert np.array_equal(one, two)
    assert not np.array_equal(one, other)


def test_sampling_that_stops_early_is_a_result() -> None:
    """Make a likelihood so steep that the share that counts hardly rises."""
    rng = np.random.default_rng(0)
    chains = sample(lambda z: 1e40 * rng.standard_normal(len(z)), 2, rng, walkers=64, steps=10)
    assert chains.stages == MOST_STAGES
    found = diagnose(chains, ["one", "two"])
    assert not found.converged
    assert "of the likelihood counts so far" in found.verdict


def test_progress_rises_to_one() -> None:
    told: list[float] = []
    sample(
        lambda z: -50 * z[:, 0] ** 2, 2, np.random.default_rng(1), walkers=64, steps=10, progress=told.append
    )
    assert told == sorted(told)
    assert told[-1] == 1.0


@pytest.mark.parametrize(("walkers", "steps"), [(62, 20), (20, 20), (64, 4)])
def test_too_few_walkers_or_steps_are_refused(walkers: int, steps: int) -> None:
    with pytest.raises(OutOfRange, match="need"):
        sample(lambda z: z[:, 0], 8, np.random.default_rng(1), walkers=walkers, steps=steps)


def test_the_share_that_counts_keeps_half_of_the_walkers() -> None:
    values = 100.0 * np.random.default_rng(1).standard_normal(1000)
    share = next_share(values, 0.0)
    weights = np.exp(share * (values - values.max()))
    assert weights.sum() ** 2 / (weights**2).sum() == pytest.approx(500.0, rel=0.01)
    assert next_share(np.zeros(10), 0.3) == 1.0


@pytest.mark.exact
def test_the_autocorrelation_time_of_a_first_order_chain() -> None:
    """For x' = a x + noise the time is (1 + a) / (1 - a)."""
    rng, a, steps = np.random.default_rng(1), 0.6, 60
    x = np.empty((steps, 2000))
    x[0] = rng.standard_normal(2000)
    for t in range(1, steps):
        x[t] = a * x[t - 1] + math.sqrt(1 - a**2) * rng.standard_normal(2000)
    assert autocorrelation_steps(x) == pytest.approx((1 + a) / (1 - a), rel=0.04)
    assert autocorrelation_steps(x[:4]) == pytest.approx((1 + a) / (1 - a), rel=0.15)  # from three lags
    assert autocorrelation_steps(np.repeat(x[:1], 10, axis=0)) > 100.0  # walkers that never move


@pytest.mark.exact
def test_islands_apart_disagree() -> None:
    x = np.random.default_rng(1).standard_normal((20, 40 * ISLANDS))
    assert split_rhat(x) == pytest.approx(1.0, abs=0.01)
    apart = x + np.repeat(np.arange(ISLANDS), 40)
    means = np.repeat(np.arange(ISLANDS), 2)
    assert split_rhat(apart) == pytest.approx(math.sqrt(1 + means.var(ddof=1)), rel=0.02)
    drifting = x + np.linspace(0.0, 4.0, 20)[:, None]
    assert split_rhat(drifting) > 1.3


@pytest.mark.exact
def test_what_was_lost_on_the_way_shows_between_islands() -> None:
    """Shift islands as if each rested on 25 draws: 100 in all, however fast the walkers then move."""
    rng, dimensions = np.random.default_rng(1), 400
    shifts = np.repeat(0.2 * rng.standard_normal((ISLANDS, dimensions)), 50, axis=0)
    places = rng.standard_normal((20, 50 * ISLANDS, dimensions)) + shifts
    assert island_effective(places) == pytest.approx(100.0, rel=0.1)
    chains, _ = draws(lambda z: np.zeros(len(z)), dimensions=2, walkers=64)
    found = diagnose(replace(chains, places=places), [f"{i}" for i in range(dimensions)])
    assert found.effective.max() < 110.0
    assert not enough(places)


def test_disagreement_and_few_draws_are_said_in_words() -> None:
    chains, _ = draws(lambda z: norm.logpdf(2.0, z[:, 0], 0.1), dimensions=2, walkers=256)
    good = diagnose(chains, ["seed", "wear"])
    assert good.converged
    assert "agree" in good.verdict
    apart = replace(chains, places=chains.places + np.repeat([0, 1, 2, 3], 64)[:, None] * np.array([0, 1.0]))
    found = diagnose(apart, ["seed", "wear"])
    assert not found.converged
    assert "disagree about wear" in found.verdict
    short = replace(chains, places=np.repeat(chains.places[:1], 8, axis=0))
    assert "independent draws" in diagnose(short, ["seed", "wear"]).verdict
    assert not diagnose(short, ["seed", "wear"]).converged
