"""The mixture that walkers move about: its density, its fit, and that moves leave it as it is."""

import numpy as np
import pytest
from scipy.stats import kstest, multivariate_t

from farface.learn.mixture import MOST_TERMS, NU, Mixture, fit_mixture

# Four standard errors of a mean of 20,000 draws.
ERRORS = 4.0 / np.sqrt(20_000)
WEIGHTS = np.array([0.3, 0.7])
MEANS = np.array([[-3.0, 0.0, 0.0], [2.0, 1.0, 0.0]])
SPREADS = np.array([np.diag([1.0, 0.5, 2.0]), [[0.5, 0.2, 0.0], [0.2, 0.4, 0.0], [0.0, 0.0, 1.0]]])


def mixture() -> Mixture:
    roots = np.linalg.cholesky(SPREADS)
    return Mixture(
        log_weights=np.log(WEIGHTS), means=MEANS, roots=roots, inverses=np.linalg.inv(roots),
        log_sizes=np.log(np.diagonal(roots, axis1=1, axis2=2)).sum(axis=1),
    )  # fmt: skip


def drawn(count: int, rng: np.random.Generator) -> np.ndarray:
    """Draw from the mixture with scipy."""
    term = rng.choice(2, size=count, p=WEIGHTS)
    both = [
        multivariate_t(m, c, df=NU).rvs(count, random_state=rng) for m, c in zip(MEANS, SPREADS, strict=True)
    ]
    return np.where(term[:, None] == 0, both[0], both[1])


@pytest.mark.exact
def test_the_density_is_that_of_student_ts() -> None:
    rng = np.random.default_rng(1)
    places = drawn(50, rng)
    whole = sum(
        w * multivariate_t(m, c, df=NU).pdf(places) for w, m, c in zip(WEIGHTS, MEANS, SPREADS, strict=True)
    )
    apart = mixture().log_density(places) - np.log(whole)
    assert apart == pytest.approx(np.full(50, apart[0]), abs=1e-9)


@pytest.mark.exact
@pytest.mark.parametrize("step_share", [0.2, 0.7, 1.0])
def test_moves_keep_the_mixture_and_go_both_ways_alike(step_share: float) -> None:
    """Detailed balance: place and proposal may be swapped, so any difference of the two averages to none."""
    rng = np.random.default_rng(2)
    before = drawn(20_000, rng)
    after = mixture().propose(before, np.full(len(before), step_share), rng)
    for start, end in zip(before.T, after.T, strict=True):
        assert kstest(start, end).pvalue > 1e-3
    swapped = np.tanh(before[:, 0]) * np.tanh(after[:, 1]) - np.tanh(after[:, 0]) * np.tanh(before[:, 1])
    assert swapped.mean() == pytest.approx(0.0, abs=ERRORS)
    jumped = (before[:, 0] < -0.5) & (after[:, 0] > -0.5)
    back = (after[:, 0] < -0.5) & (before[:, 0] > -0.5)
    assert jumped.mean() == pytest.approx(back.mean(), abs=ERRORS)


def test_a_full_step_forgets_where_it_began() -> None:
    rng = np.random.default_rng(3)
    before = drawn(20_000, rng)
    after = mixture().propose(before, np.ones(len(before)), rng)
    assert np.abs([np.corrcoef(a, b)[0, 1] for a, b in zip(before.T, after.T, strict=True)]).max() < ERRORS


def test_a_fit_finds_two_clouds() -> None:
    rng = np.random.default_rng(4)
    places = drawn(4000, rng)
    found = fit_mixture(places, np.full(4000, 1.0 / 4000), rng)
    left = found.means[:, 0] < -1.0
    assert np.exp(found.log_weights[left]).sum() == pytest.approx(0.3, abs=0.04)
    fresh = drawn(4000, rng)
    # As good as the truth to a few hundredths of a nat a place.
    normed = found.log_density(fresh) - mixture().log_density(fresh)
    assert normed.std() < 0.35


def test_weights_count() -> None:
    """Give one cloud all the weight: the fit must not see the other."""
    rng = np.random.default_rng(5)
    places = drawn(4000, rng)
    weights = (places[:, 0] > -0.5).astype(float)
    found = fit_mixture(places, weights / weights.sum(), rng)
    assert found.means[:, 0].min() > -0.5


def test_few_places_give_one_term_and_many_no_more_than_enough() -> None:
    rng = np.random.default_rng(6)
    for count, terms in ((20, 1), (40, 3), (5000, MOST_TERMS)):
        places = rng.standard_normal((count, 3))
        assert len(fit_mixture(places, np.full(count, 1.0 / count), rng).means) == terms


def test_walkers_that_stayed_where_they_were_count_once() -> None:
    rng = np.random.default_rng(7)
    places = np.repeat(rng.standard_normal((20, 3)), 100, axis=0)
    assert len(fit_mixture(places, np.full(2000, 1.0 / 2000), rng).means) == 1


def test_a_bent_cloud_is_followed_better_than_by_one_term() -> None:
    """Bend a normal into a banana, and count how many independent proposals would be taken there."""
    rng = np.random.default_rng(8)

    def bent(count: int) -> np.ndarray:
        x, y = rng.standard_normal((2, count))
        return np.column_stack((x, 0.3 * y + x**2))

    def log_target(z: np.ndarray) -> np.ndarray:
        return -0.5 * z[:, 0] ** 2 - 0.5 * ((z[:, 1] - z[:, 0] ** 2) / 0.3) ** 2

    def taken(fitted: Mixture) -> float:
        here = bent(2000)
        there = fitted.propose(here, np.ones(2000), rng)
        log_ratio = (
            log_target(there) - log_target(here) + fitted.log_density(here) - fitted.log_density(there)
        )
        return float(np.exp(np.minimum(log_ratio, 0.0)).mean())

    places = bent(4000)
    several = fit_mixture(places, np.full(4000, 1.0 / 4000), rng)
    one = fit_mixture(places[:8], np.full(8, 1.0 / 8), rng)
    assert len(one.means) == 1
    assert taken(several) > 2.0 * taken(one)
    assert taken(several) > 0.5
