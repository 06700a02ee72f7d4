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
LEAST_EFFECTIVE: Final = 400.0
# Autocorrelations below this end the sum: they are noise.
NOISE: Final = 0.05


@dataclass(frozen=True, slots=True, kw_only=True)
class Diagnostics:
    """Hold how a sample was reached; arrays run over the unknowns, then the plates' offsets, as ``names``.

    ``autocorrelation_steps`` is the integrated autocorrelation time, ``effective`` the number of
    independent draws the sample is worth, ``split_rhat`` the disagreement of islands and halves.
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
    steps, walkers, dimensions = chains.places.shape
    times = np.array([autocorrelation_steps(chains.places[:, :, i]) for i in range(dimensions)])
    rhat = np.array([split_rhat(chains.places[:, :, i]) for i in range(dimensions)])
    effective = steps * walkers / times
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


def autocorrelation_steps(values: NDArray[np.float64]) -> float:
    """Return the integrated autocorrelation time 1 + 2 sum rho_t of chains, shape (step, walker).

    rho_t is taken about the mean of all walkers, so a walker that never moves counts as fully correlated.
    Where the chains end before rho_t has fallen to noise, the rest is taken as falling on geometrically.
    """
    around = values - values.mean()
    variance = float((around**2).mean())
    if variance == 0.0:
        return float(len(values))
    total = 1.0
    for lag in range(1, len(values)):
        rho = float((around[lag:] * around[:-lag]).mean()) / variance
        if rho < NOISE:
            return total
        total += 2.0 * rho
    falling = min(rho, 0.999) ** (1.0 / lag)
    return float(total + 2.0 * rho * falling / (1.0 - falling))


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
