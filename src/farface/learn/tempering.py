"""Sample a posterior by letting the evidence in bit by bit, from prior draws to the full likelihood.

Places z have a standard normal prior. A population of walkers starts as prior draws; at each stage a
larger share b of the likelihood L counts, chosen so that half of the population stays effective, walkers
are resampled by L^(b' - b), and then all move. A move is a Crank-Nicolson step about the population's
own mean mu and covariance C, reversible with respect to the Student t of NU degrees of freedom,

    g ~ inverse gamma((d + NU) / 2, (NU + s) / 2),  s = (z - mu) C^-1 (z - mu)
    z' = mu + sqrt(1 - a^2) (z - mu) + a sqrt(g) C^(1/2) xi,

accepted by the ratio of the target N(z) L(z)^b over that t; at a = 1 it proposes afresh. It needs no
gradient, which matters because pulses are counted in whole numbers, and it is at home in several modes.
[delmoral2006, cotter2013]
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from farface.kernel import OutOfRange

# Populations that never exchange walkers, so that their agreement says something.
ISLANDS: Final = 4
# Moves at each share of the likelihood below the full one.
MOVES: Final = 3
MOST_STAGES: Final = 60
KEPT_SHARE: Final = 0.5
WANTED_SHARE: Final = 0.3
NU: Final = 20.0
# Stands for a likelihood of zero, so that differences stay numbers.
LEAST_LOG: Final = -1e100
# Steps at the full likelihood that are let go, while the walkers forget how they were resampled.
SETTLING_SHARE: Final = 0.25
# Where on the way to the full likelihood a stage stands, for progress: about even in time.
PROGRESS_POWER: Final = 0.4
TEMPERING_SHARE: Final = 0.6

LogLikelihood = Callable[[NDArray[np.float64]], NDArray[np.float64]]
Progress = Callable[[float], None]


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
class _Reference:
    """Hold the mean and the Cholesky factor of the covariance about which walkers move."""

    mean: NDArray[np.float64]
    root: NDArray[np.float64]

    def distance2(self, places: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return the squared Mahalanobis distance of places from the mean, shape (walker,)."""
        return np.asarray((np.linalg.solve(self.root, (places - self.mean).T) ** 2).sum(axis=0))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Walkers:
    """Hold a population: places, log likelihoods, the share that counts, and the boldness of moves."""

    places: NDArray[np.float64]
    values: NDArray[np.float64]
    share: float
    boldness: float
    accepted: float = 0.0


def sample(
    log_likelihood: LogLikelihood,
    dimensions: int,
    rng: np.random.Generator,
    *,
    walkers: int,
    steps: int,
    progress: Progress | None = None,
) -> Chains:
    """Sample N(z) L(z) with ``walkers`` walkers that make ``steps`` steps at the full likelihood.

    Raises `OutOfRange` when there are too few walkers to learn a covariance from or too few steps to
    judge. Without a full likelihood after ``MOST_STAGES`` stages the chains are what was reached, and
    ``stopped`` says so.
    """
    _require(walkers, steps, dimensions)
    tell = progress or (lambda share: None)
    places = rng.standard_normal((walkers, dimensions))
    now = _Walkers(places=places, values=_finite(log_likelihood(places)), share=0.0, boldness=0.7)
    stages = 0
    while now.share < 1.0 and stages < MOST_STAGES:
        now, reference = _let_in_more(now, rng)
        stages += 1
        for _ in range(MOVES if now.share < 1.0 else 0):
            now = _move(now, reference, log_likelihood, rng)
        tell(TEMPERING_SHARE * now.share**PROGRESS_POWER)
    path = []
    for step in range(steps):
        # The reference follows the population while it settles, then stays, as detailed balance asks.
        if step <= SETTLING_SHARE * steps:
            reference = _reference(now.places, np.full(walkers, 1.0 / walkers))
        now = _move(now, reference, log_likelihood, rng, adapt=step <= SETTLING_SHARE * steps)
        path.append(now)
        tell(TEMPERING_SHARE + (1.0 - TEMPERING_SHARE) * (step + 1) / steps)
    kept = path[int(SETTLING_SHARE * steps) + 1 :]
    return Chains(
        places=np.array([w.places for w in kept]),
        log_likelihoods=np.array([w.values for w in kept]),
        acceptance_share=float(np.mean([w.accepted for w in kept])),
        stages=stages,
        stopped=None if now.share == 1.0 else f"only {now.share:.2g} of the likelihood counts so far",
    )


def _require(walkers: int, steps: int, dimensions: int) -> None:
    if walkers % ISLANDS or walkers < 8 * dimensions:
        raise OutOfRange(
            f"there are {walkers} walkers, but {dimensions} unknowns and offsets need at least "
            f"{8 * dimensions}, a multiple of {ISLANDS}. Give more walkers."
        )
    if steps < 8:
        raise OutOfRange(f"there are {steps} steps, but a verdict needs at least 8. Give more steps.")


def _finite(values: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.maximum(np.nan_to_num(values, nan=LEAST_LOG), LEAST_LOG)


def _let_in_more(now: _Walkers, rng: np.random.Generator) -> tuple[_Walkers, _Reference]:
    """Raise the share of the likelihood that counts, and resample each island accordingly."""
    share = next_share(now.values, now.share)
    weights = np.exp((share - now.share) * (now.values - now.values.max()))
    chosen = _resample(weights, rng)
    moved = _Walkers(places=now.places[chosen], values=now.values[chosen], share=share, boldness=now.boldness)
    return moved, _reference(now.places, weights / weights.sum())


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


def _reference(places: NDArray[np.float64], weights: NDArray[np.float64]) -> _Reference:
    """Fit mean and covariance; a trace of the prior's covariance keeps it regular."""
    mean = weights @ places
    around = places - mean
    covariance = (around * weights[:, None]).T @ around + 1e-4 * np.eye(places.shape[1])
    return _Reference(mean=mean, root=np.asarray(np.linalg.cholesky(covariance), dtype=np.float64))


def _move(
    now: _Walkers,
    reference: _Reference,
    log_likelihood: LogLikelihood,
    rng: np.random.Generator,
    *,
    adapt: bool = True,
) -> _Walkers:
    """Move every walker once; bolder next time when more than ``WANTED_SHARE`` of the moves were accepted."""
    places, boldness = now.places, now.boldness
    walkers, dimensions = places.shape
    before = reference.distance2(places)
    spread = 0.5 * (NU + before) / rng.gamma(0.5 * (dimensions + NU), size=walkers)
    fresh = (rng.standard_normal(places.shape) @ reference.root.T) * np.sqrt(spread)[:, None]
    proposed = reference.mean + np.sqrt(1.0 - boldness**2) * (places - reference.mean) + boldness * fresh
    values = _finite(log_likelihood(proposed))
    after = reference.distance2(proposed)
    ratio = now.share * (values - now.values)
    ratio += 0.5 * ((places**2).sum(axis=1) - (proposed**2).sum(axis=1))
    ratio += 0.5 * (dimensions + NU) * (np.log1p(after / NU) - np.log1p(before / NU))
    taken = np.log(rng.random(walkers)) < ratio
    accepted = float(taken.mean())
    if adapt:
        boldness = float(np.clip(boldness * np.exp(accepted - WANTED_SHARE), 0.05, 1.0))
    return _Walkers(
        places=np.where(taken[:, None], proposed, places),
        values=np.where(taken, values, now.values),
        share=now.share,
        boldness=boldness,
        accepted=accepted,
    )
