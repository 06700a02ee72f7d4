"""Fit the unknowns and the plates' offsets to all that was seen."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from farface.etch.bench import EtchBench
from farface.etch.unknowns import UNKNOWN_COUNT, unknowns
from farface.learn.diagnostics import Diagnostics, diagnose, enough
from farface.learn.film import Film
from farface.learn.likelihood import log_likelihood
from farface.learn.plates import PLATE_WIDTH, PlateEvidence, by_plate
from farface.learn.seen import MISREAD_SHARE, misreading
from farface.learn.tempering import WALKERS_PER_DIMENSION, Chains, Progress, sample
from farface.records import Outcome

WALKERS: Final = 512
# At most; a fit ends as soon as its chains will do.
STEPS: Final = 120


@dataclass(frozen=True, slots=True, kw_only=True)
class Posterior:
    """Hold what is believed after the evidence, as nearly independent draws.

    ``draws`` has shape (draw, UNKNOWN_COUNT), ``plate_offsets`` (draw, plate) in log-fluence, plates in
    the order of ``plates``; ``log_likelihoods`` has shape (draw,).
    """

    draws: NDArray[np.float64]
    plates: tuple[str, ...]
    plate_offsets: NDArray[np.float64]
    log_likelihoods: NDArray[np.float64]
    diagnostics: Diagnostics


def fit(
    bench: EtchBench,
    outcomes: Sequence[Outcome],
    films: Sequence[Film],
    rng: np.random.Generator,
    *,
    steps: int = STEPS,
    walkers: int | None = None,
    misread_share: float = MISREAD_SHARE,
    progress: Progress = lambda share: None,
) -> Posterior:
    """Sample the posterior; without any evidence it is the prior.

    ``steps`` is a ceiling: sampling ends once every unknown is worth enough independent draws.
    A fit that did not converge is a result too: read ``diagnostics.verdict``. ``progress`` is called with
    the share done. 36 cells take some 20 s of processor time; see `farface.learn.tempering` for the sampler.
    """
    evidence = by_plate(bench, outcomes, films)
    misread = misreading(misread_share)

    def value(places: NDArray[np.float64]) -> NDArray[np.float64]:
        draws, offsets = unfold(bench, places)
        return log_likelihood(bench, evidence, draws, offsets, misread=misread)

    dimensions = UNKNOWN_COUNT + len(evidence)
    chains = sample(
        value,
        dimensions,
        rng,
        walkers=walkers or max(WALKERS, WALKERS_PER_DIMENSION * dimensions),
        steps=steps,
        enough=enough,
        progress=progress,
    )
    return _posterior(bench, evidence, chains)


def unfold(bench: EtchBench, places: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Turn places with a standard normal prior, shape (walker, dimension), into draws and plate offsets."""
    listed = unknowns(bench)
    median = np.array([u.median for u in listed])
    width = np.log([u.factor for u in listed])
    return median * np.exp(width * places[:, :UNKNOWN_COUNT]), PLATE_WIDTH * places[:, UNKNOWN_COUNT:]


def _posterior(bench: EtchBench, evidence: Sequence[PlateEvidence], chains: Chains) -> Posterior:
    """Thin the chains by their autocorrelation time and judge them."""
    plates = tuple(plate.plate for plate in evidence)
    names = [u.name for u in unknowns(bench)] + [f"plate {plate}" for plate in plates]
    diagnostics = diagnose(chains, names)
    every = min(math.ceil(diagnostics.autocorrelation_steps.max()), len(chains.places))
    kept = slice(None, None, -every)
    places = chains.places[kept].reshape(-1, chains.places.shape[2])
    draws, offsets = unfold(bench, places)
    return Posterior(
        draws=draws,
        plates=plates,
        plate_offsets=offsets,
        log_likelihoods=chains.log_likelihoods[kept].ravel(),
        diagnostics=diagnostics,
    )
