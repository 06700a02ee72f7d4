"""Sample a posterior by letting the evidence in bit by bit, from prior draws to the full likelihood.

Places z have a standard normal prior. A population of walkers starts as prior draws; at each stage a
larger share b of the likelihood L counts, chosen so that half of the population stays effective, walkers
are resampled by L^(b' - b), and then all move. A move is proposed by a mixture of Student t's fitted to where
walkers have lately been (`farface.learn.mixture`), reversibly with respect to it, and accepted by the ratio
of the target N(z) L(z)^b over the mixture. Most moves are bold and propose afresh; some are careful, with a
step that adapts, and free walkers from places the mixture hardly reaches. None of it needs a gradient, which
matters because pulses are counted in whole numbers, and it is at home in several modes. [delmoral2006]
"""

from collections import deque
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from farface.kernel import OutOfRange
from farface.learn.mixture import Mixture, fit_mixture

# Populations that never exchange walkers, so that their agreement says something.
ISLANDS: Final = 4
# Fewer walkers than this for each dimension know no covariance; a multiple of the islands.
WALKERS_PER_DIMENSION: Final = 8
MOST_STAGES: Final = 60
# At each share of the likelihood walkers move until their places are correlated no more than this with
# where resampling put them, or it would leave ever fewer families; but not more often than that.
FORGOTTEN: Final = 0.2
MOST_MOVES: Final = 25
KEPT_SHARE: Final = 0.5
# How many moves are careful, and how many of those should be accepted.
CAREFUL_SHARE: Final = 0.3
WANTED_SHARE: Final = 0.3
# Populations that the mixture is fitted to, and after how many moves it is fitted anew.
REMEMBERED: Final = 10
FITTED_EVERY: Final = 4
# Stands for a likelihood of zero, so that differences stay numbers.
LEAST_LOG: Final = -1e100
# Fewer steps than this at the full likelihood tell nothing; how often to ask whether there are enough.
LEAST_STEPS: Final = 5
ASKED_EVERY: Final = 5
# Where on the way to the full likelihood a stage stands, for progress: about even in time.
PROGRESS_POWER: Final = 0.4
TEMPERING_SHARE: Final = 0.6

LogLikelihood = Callable[[NDArray[np.float64]], NDArray[np.float64]]
Progress = Callable[[float], None]
Enough = Callable[[NDArray[np.float64]], bool]


@dataclass(frozen=True, slots=True, kw_only=True)
class Chains:
    """Hold the walkers' ways at the full likelihood; ``stopped`` says why sampling ended early, if it did.

    ``places`` has shape (step, walker, dimension), ``log_likelihoods`` (step, walker). Walkers of one
    island stand side by side.
    """

    places: NDArray[np.float64]
    log_likelihoods: NDArray[np.float64]
    acceptance_share: float
    stages: int
    stopped: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class _Walkers:
    """Hold a population: places, log likelihoods, the share that counts, and the size of careful moves."""

    places: NDArray[np.float64]
    values: NDArray[np.float64]
    share: float
    careful: float = 0.3
    accepted: float = 0.0


def sample(
    log_likelihood: LogLikelihood,
    dimensions: int,
    rng: np.random.Generator,
    *,
    walkers: int,
    steps: int,
    enough: Enough = lambda places: False,
    progress: Progress = lambda share: None,
) -> Chains:
    """Sample N(z) L(z) with ``walkers`` walkers that make at most ``steps`` steps at the full likelihood.

    ``enough`` is asked now and then whether places so far, shape (step, walker, dimension), will do.
    Raises `OutOfRange` when there are too few walkers to learn a covariance from or too few steps to
    judge. Without a full likelihood after ``MOST_STAGES`` stages the chains are what was reached, and
    ``stopped`` says so.
    """
    _require(walkers, steps, dimensions)
    places = rng.standard_normal((walkers, dimensions))
    now = _Walkers(places=places, values=_finite(log_likelihood(places)), share=0.0)
    trail = deque([now], maxlen=REMEMBERED)
    stages = 0
    while now.share < 1.0 and stages < MOST_STAGES:
        now = _forget(_let_in_more(now, rng), trail, log_likelihood, rng)
        stages += 1
        progress(TEMPERING_SHARE * now.share**PROGRESS_POWER)
    path = _walk(now, _reference(trail, now.share, rng), log_likelihood, rng, steps, enough, progress)
    return Chains(
        places=np.array([w.places for w in path]),
        log_likelihoods=np.array([w.values for w in path]),
        acceptance_share=float(np.mean([w.accepted for w in path])),
        stages=stages,
        stopped=None if now.share == 1.0 else f"only {now.share:.2g} of the likelihood counts so far",
    )


def _walk(
    now: _Walkers,
    reference: Mixture,
    log_likelihood: LogLikelihood,
    rng: np.random.Generator,
    steps: int,
    enough: Enough,
    progress: Progress,
) -> list[_Walkers]:
    """Keep every step until there are enough or the steps are used up.

    The reference stays as it is, as detailed balance asks.
    """
    path: list[_Walkers] = []
    for step in range(steps):
        now = _move(now, reference, log_likelihood, rng, adapt=False)
        path.append(now)
        progress(TEMPERING_SHARE + (1.0 - TEMPERING_SHARE) * (step + 1) / steps)
        if len(path) % ASKED_EVERY == 0 and enough(np.array([w.places for w in path])):
            break
    progress(1.0)
    return path


def _require(walkers: int, steps: int, dimensions: int) -> None:
    least = WALKERS_PER_DIMENSION * dimensions
    if walkers % ISLANDS or walkers < least:
        raise OutOfRange(
            f"there are {walkers} walkers, but {dimensions} unknowns and offsets need at least {least}, "
            f"a multiple of {ISLANDS}. Give more walkers."
        )
    if steps < LEAST_STEPS:
        raise OutOfRange(
            f"there are {steps} steps, but a verdict needs at least {LEAST_STEPS}. Give more steps."
        )


def _finite(values: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.maximum(np.nan_to_num(values, nan=LEAST_LOG), LEAST_LOG)


def _let_in_more(now: _Walkers, rng: np.random.Generator) -> _Walkers:
    """Raise the share of the likelihood that counts, and resample each island accordingly."""
    share = next_share(now.values, now.share)
    weights = np.exp((share - now.share) * (now.values - now.values.max()))
    chosen = _resample(weights, rng)
    return replace(now, places=now.places[chosen], values=now.values[chosen], share=share)


def _reference(trail: Sequence[_Walkers], share: float, rng: np.random.Generator) -> Mixture:
    """Fit the mixture to past populations, each weighed for the share that counts now."""
    weights = []
    for past in trail:
        one = np.exp((share - past.share) * (past.values - past.values.max()))
        weights.append(one * one.sum() / (one**2).sum())
    together = np.concatenate(weights)
    return fit_mixture(np.concatenate([past.places for past in trail]), together / together.sum(), rng)


def _forget(
    now: _Walkers, trail: deque[_Walkers], log_likelihood: LogLikelihood, rng: np.random.Generator
) -> _Walkers:
    """Move walkers until they have forgotten how they were resampled; the trail grows by what they visit."""
    start = now.places - now.places.mean(axis=0)
    reference = _reference(trail, now.share, rng)
    for move in range(MOST_MOVES):
        if move and move % FITTED_EVERY == 0:
            reference = _reference(trail, now.share, rng)
        now = _move(now, reference, log_likelihood, rng)
        trail.append(now)
        here = now.places - now.places.mean(axis=0)
        alike = (start * here).sum(axis=0) / np.sqrt((start**2).sum(axis=0) * (here**2).sum(axis=0))
        if alike.mean() < FORGOTTEN:
            break
    return now


def next_share(values: NDArray[np.float64], share: float) -> float:
    """Find the share of the likelihood at which ``KEPT_SHARE`` of the walkers stays effective, at most 1."""

    def effective_share(raised: float) -> float:
        weights = np.exp((raised - share) * (values - values.max()))
        return float(weights.sum() ** 2 / (weights**2).sum() / len(values))

    if effective_share(1.0) >= KEPT_SHARE:
        return 1.0
    low, high = share, 1.0
    for _ in range(50):
        middle = 0.5 * (low + high)
        if effective_share(middle) >= KEPT_SHARE:
            low = middle
        else:
            high = middle
    return high


def _resample(weights: NDArray[np.float64], rng: np.random.Generator) -> NDArray[np.intp]:
    """Choose walkers in proportion to their weights, island by island, from evenly spaced positions."""
    size = len(weights) // ISLANDS
    chosen = []
    for island in range(ISLANDS):
        sums = np.cumsum(weights[island * size : (island + 1) * size])
        # An island whose weights all vanished keeps its walkers.
        at = (np.arange(size) + rng.random()) / size * sums[-1]
        picks = np.searchsorted(sums, at) if sums[-1] > 0.0 else np.arange(size)
        chosen.append(island * size + np.minimum(picks, size - 1))
    return np.concatenate(chosen)


def _move(
    now: _Walkers,
    reference: Mixture,
    log_likelihood: LogLikelihood,
    rng: np.random.Generator,
    *,
    adapt: bool = True,
) -> _Walkers:
    """Move every walker once, boldly or carefully by lot; careful moves adapt to ``WANTED_SHARE``."""
    places, walkers = now.places, len(now.places)
    careful = np.asarray(rng.random(walkers) < CAREFUL_SHARE)
    proposed = reference.propose(places, np.where(careful, now.careful, 1.0), rng)
    values = _finite(log_likelihood(proposed))
    ratio = now.share * (values - now.values)
    ratio += 0.5 * ((places**2).sum(axis=1) - (proposed**2).sum(axis=1))
    ratio += reference.log_density(places) - reference.log_density(proposed)
    taken = np.log(rng.random(walkers)) < ratio
    surplus = float(taken[careful].mean()) - WANTED_SHARE if adapt and careful.any() else 0.0
    return _Walkers(
        places=np.where(taken[:, None], proposed, places),
        values=np.where(taken, values, now.values),
        share=now.share,
        careful=float(np.clip(now.careful * np.exp(surplus), 0.02, 0.95)),
        accepted=float(taken.mean()),
    )
