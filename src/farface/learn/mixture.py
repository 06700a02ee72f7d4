"""Describe a cloud of places by a mixture of Student t's, and move about it reversibly.

The density is sum_k p_k t_NU(z; m_k, C_k), whose terms are fitted by expectation and maximisation. Posteriors
here have edges and bends that one normal cannot follow; several small ones can. [dempster1977]
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

NU: Final = 20.0
ROUNDS: Final = 10
# Places looked at in a fit: more tell little more.
LOOKED_AT: Final = 2500
# A term needs so many places for each dimension; and no more terms than these.
PLACES_PER_DIMENSION: Final = 4
MOST_TERMS: Final = 10
# The covariance of all places counts in each term as so many places for each dimension.
POOLED_PER_DIMENSION: Final = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Mixture:
    """Hold a mixture: log weights and sizes, shape (term,), means (term, dimension), and their spreads.

    ``roots`` are Cholesky roots of the covariances and ``inverses`` their inverses, shape (term, d, d);
    ``log_sizes`` are the logarithms of the roots' determinants.
    """

    log_weights: NDArray[np.float64]
    log_sizes: NDArray[np.float64]
    means: NDArray[np.float64]
    roots: NDArray[np.float64]
    inverses: NDArray[np.float64]

    def distances2(self, places: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return squared Mahalanobis distances from each term, shape (place, term)."""
        found = np.empty((len(places), len(self.means)))
        for k, (mean, inverse) in enumerate(zip(self.means, self.inverses, strict=True)):
            found[:, k] = (((places - mean) @ inverse.T) ** 2).sum(axis=1)
        return found

    def log_terms(self, distances2: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return the log density of each weighted term, shape (place, term), up to a common constant."""
        power = 0.5 * (self.means.shape[1] + NU)
        return np.asarray(self.log_weights - self.log_sizes - power * np.log1p(distances2 / NU))

    def log_density(self, places: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return the log density up to a constant, shape (place,)."""
        return np.asarray(np.logaddexp.reduce(self.log_terms(self.distances2(places)), axis=1))

    def propose(
        self, places: NDArray[np.float64], step_share: NDArray[np.float64], rng: np.random.Generator
    ) -> NDArray[np.float64]:
        """Propose new places, reversibly with respect to the mixture; a step of 1 forgets the old one.

        Where ``step_share`` a is 1, a term is drawn by its weight, and a place from it. Else a term is drawn
        by its share in the density here, and a Crank-Nicolson step is made about it [cotter2013],

            g ~ inverse gamma((d + NU) / 2, (NU + s) / 2),  s = (z - m) C^-1 (z - m)
            z' = m + sqrt(1 - a^2) (z - m) + a sqrt(g) C^(1/2) xi.
        """
        dimensions, afresh = places.shape[1], step_share >= 1.0
        squared = self.distances2(places)
        terms = np.where(afresh[:, None], self.log_weights, self.log_terms(squared))
        term = _drawn(terms, rng)
        squared = squared[np.arange(len(places)), term]
        shape = 0.5 * (NU + np.where(afresh, 0.0, dimensions))
        spread = 0.5 * (NU + np.where(afresh, 0.0, squared)) / rng.gamma(shape)
        noise = np.einsum("pij,pj->pi", self.roots[term], rng.standard_normal(places.shape))
        kept = np.sqrt(1.0 - step_share**2)[:, None] * (places - self.means[term])
        return np.asarray(self.means[term] + kept + (step_share * np.sqrt(spread))[:, None] * noise)


def _drawn(log_terms: NDArray[np.float64], rng: np.random.Generator) -> NDArray[np.intp]:
    """Draw a term for each row in proportion to its density."""
    return np.asarray(np.argmax(log_terms + rng.gumbel(size=log_terms.shape), axis=1))


def fit_mixture(
    places: NDArray[np.float64], weights: NDArray[np.float64], rng: np.random.Generator
) -> Mixture:
    """Fit a mixture to weighted places, shape (place, dimension); weights sum to 1.

    A trace of the unit covariance keeps every term regular, and the covariance of all places steadies it.
    Leaves out the terms' tails, so that widths come out as those of normals.
    """
    dimensions = places.shape[1]
    mean = weights @ places
    pooled = _covariance(places - mean, weights) + 1e-4 * np.eye(dimensions)
    # Walkers that stayed where they were count once.
    effective = min(1.0 / float((weights**2).sum()), float(len(np.unique(places[weights > 1e-9, 0]))))
    count = int(np.clip(effective / (PLACES_PER_DIMENSION * dimensions), 1, MOST_TERMS))
    if count == 1:
        return _mixture(np.ones(1), mean[None], pooled[None])
    chosen = rng.choice(len(places), size=min(LOOKED_AT, len(places)), p=weights)
    seen = places[chosen]
    means = seen[rng.choice(len(seen), size=count, replace=False)]
    found = _mixture(np.full(count, 1.0 / count), means, np.repeat(pooled[None], count, axis=0))
    for _ in range(ROUNDS):
        terms = found.log_terms(found.distances2(seen))
        shares = np.exp(terms - np.logaddexp.reduce(terms, axis=1, keepdims=True))
        found = _maximised(seen, shares, pooled, effective)
    return found


def _maximised(
    seen: NDArray[np.float64], shares: NDArray[np.float64], pooled: NDArray[np.float64], effective: float
) -> Mixture:
    """Fit the terms to the places by the share, shape (place, term), that each has in them."""
    dimensions = seen.shape[1]
    steadied = POOLED_PER_DIMENSION * dimensions
    part = np.maximum(shares.mean(axis=0), 1e-12)
    means = (shares.T @ seen) / (len(seen) * part[:, None])
    covariances = np.empty((len(part), dimensions, dimensions))
    for k, share in enumerate(shares.T):
        own = _covariance(seen - means[k], share / (len(seen) * part[k]))
        places = effective * part[k]
        covariances[k] = (places * own + steadied * pooled) / (places + steadied)
    return _mixture(part, means, covariances)


def _covariance(around: NDArray[np.float64], weights: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.asarray((around * weights[:, None]).T @ around)


def _mixture(
    weights: NDArray[np.float64], means: NDArray[np.float64], covariances: NDArray[np.float64]
) -> Mixture:
    roots = np.asarray(np.linalg.cholesky(covariances), dtype=np.float64)
    return Mixture(
        log_weights=np.log(weights / weights.sum()),
        log_sizes=np.log(np.diagonal(roots, axis1=1, axis2=2)).sum(axis=1),
        means=means,
        roots=roots,
        inverses=np.asarray(np.linalg.inv(roots), dtype=np.float64),
    )
