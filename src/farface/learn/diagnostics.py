"""Judge a sample: how far its walkers agree, how many independent draws it is worth, in words too."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from farface.learn.tempering import ISLANDS, Chains

# Agreement asked for: spread between islands and halves against the spread within [vehtari2021], looser
# than their 1.01 because a decision about the next plate does not hang on a percent of a width.
HIGHEST_RHAT: Final = 1.05
# A width is then known to 4 percent.
LEAST_EFFECTIVE: Final = 400.0
# Autocorrelations below this end the sum: they are noise.
NOISE: Final = 0.05


@dataclass(frozen=True, slots=True, kw_only=True)
class Diagnostics:
    """Hold how a sample was reached; arrays run over the unknowns, then the plates' offsets, as ``names``.

    ``autocorrelation_steps`` is the integrated autocorrelation time, ``split_rhat`` the disagreement of
    islands and halves. ``effective`` is the number of independent draws the sample is worth: by
    autocorrelation or by how far the islands' means scatter, whichever is less.
    """

    names: tuple[str, ...]
    acceptance_share: float
    stages: int
    autocorrelation_steps: NDArray[np.float64]
    effective: NDArray[np.float64]
    split_rhat: NDArray[np.float64]
    converged: bool
    verdict: str


def diagnose(chains: Chains, names: Sequence[str]) -> Diagnostics:
    """Judge chains; ``names`` says what their dimensions are."""
    times, effective, rhat = _judge(chains.places)
    verdict = _verdict(chains, names, effective, rhat)
    return Diagnostics(
        names=tuple(names),
        acceptance_share=chains.acceptance_share,
        stages=chains.stages,
        autocorrelation_steps=times,
        effective=effective,
        split_rhat=rhat,
        converged=verdict.startswith("Converged"),
        verdict=verdict,
    )


def enough(places: NDArray[np.float64]) -> bool:
    """Tell whether places, shape (step, walker, dimension), agree and are worth enough draws."""
    _, effective, rhat = _judge(places)
    return bool(effective.min() >= LEAST_EFFECTIVE and rhat.max() <= HIGHEST_RHAT)


def _judge(
    places: NDArray[np.float64],
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Return autocorrelation times, effective draws and split R-hat, each of shape (dimension,)."""
    steps, walkers, dimensions = places.shape
    times = np.array([autocorrelation_steps(places[:, :, i]) for i in range(dimensions)])
    rhat = np.array([split_rhat(places[:, :, i]) for i in range(dimensions)])
    return times, np.minimum(steps * walkers / times, island_effective(places)), rhat


def autocorrelation_steps(values: NDArray[np.float64]) -> float:
    """Return the integrated autocorrelation time 1 + 2 sum rho_t of chains, shape (step, walker).

    rho_t is taken about the mean of all walkers, so a walker that never moves counts as fully correlated.
    Past the last rho_t that stands out of the noise it is taken as falling on geometrically.
    """
    around = values - values.mean()
    variance = float((around**2).mean())
    if variance == 0.0:
        return float(len(values))
    total, rho, last = 1.0, 0.0, 0
    for lag in range(1, len(values)):
        now = float((around[lag:] * around[:-lag]).mean()) / variance
        if now < NOISE:
            break
        rho, last = min(now, 0.999), lag
        total += 2.0 * rho
    if last == 0:
        return total
    falling = rho ** (1.0 / last)
    return float(total + 2.0 * rho * falling / (1.0 - falling))


def island_effective(places: NDArray[np.float64]) -> float:
    """Return how many independent draws would scatter the islands' means as they do, places as above.

    Islands x variance within / variance between their means, the ratio averaged over the dimensions
    because a few islands tell little in one. Unlike autocorrelation it sees what was lost on the way.
    """
    means = np.array([part.mean(axis=(0, 1)) for part in np.split(places, ISLANDS, axis=1)])
    lost = means.var(axis=0, ddof=1) / np.maximum(places.var(axis=(0, 1)), 1e-300)
    return float(ISLANDS / max(lost.mean(), 1e-12))


def split_rhat(values: NDArray[np.float64]) -> float:
    """Return sqrt(1 + B / W) over the first and second half of each island's draws, shape (step, walker).

    B is the variance between the means of the parts, W the mean variance within.
    """
    half = len(values) // 2
    islands = np.split(values, ISLANDS, axis=1)
    parts = np.array([part.ravel() for island in islands for part in (island[:half], island[-half:])])
    within = float(parts.var(axis=1, ddof=1).mean())
    between = float(parts.mean(axis=1).var(ddof=1))
    return float(np.sqrt(1.0 + between / within)) if within > 0.0 else float("inf")


def _verdict(
    chains: Chains, names: Sequence[str], effective: NDArray[np.float64], rhat: NDArray[np.float64]
) -> str:
    if chains.stopped is not None:
        return (
            f"Not converged: {chains.stopped}. Look for outcomes that contradict one another, "
            "or give more walkers."
        )
    worst, fewest = int(np.argmax(rhat)), int(np.argmin(effective))
    if rhat[worst] > HIGHEST_RHAT:
        return (
            f"Not converged: independent populations disagree about {names[worst]} "
            f"(split R-hat {rhat[worst]:.2f}, at most {HIGHEST_RHAT:g} is asked for). "
            "Give more steps or walkers."
        )
    if effective[fewest] < LEAST_EFFECTIVE:
        return (
            f"Not converged: {names[fewest]} has only {effective[fewest]:.0f} independent draws, "
            f"{LEAST_EFFECTIVE:.0f} are asked for. Give more steps or walkers."
        )
    return (
        f"Converged: independent populations agree (split R-hat at most {rhat[worst]:.2f}), "
        f"and every unknown has at least {effective[fewest]:.0f} independent draws."
    )
