"""Add up the heat of any train of pulses at one spot, in a time that does not grow with its history.

A response that decays by diffusion is a sum of exponentials to within a few parts in a million. Each
exponential carries its own memory, so a train becomes a recursion: let the memories decay, read the
rise, add the pulse.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numba import njit
from numpy.typing import NDArray

from farface.heat.halfspace import Pair, response
from farface.kernel import NotConverged

# Rates grow by 2^(1/2) from term to term, over four terms by 2^2: two squarings of a decay give the one four
# terms on, and only the first four are exponentials.
LANES: Final = 4
SQUARINGS: Final = 2
GROUPS: Final = 15
TERMS: Final = LANES * GROUPS
SHORTEST_TAU: Final = 1e-4
LONGEST_TAU: Final = 1e3
# Largest misfit accepted, as a share of T0: far below what any material value is known to.
ACCEPTED_MISFIT: Final = 2e-5


@dataclass(frozen=True, slots=True, kw_only=True)
class Exponentials:
    """Hold a response as sum_j weight_j exp(-rate_j tau), tau in units of w^2 / D_liquid.

    ``misfit`` is the largest difference from the exact response over the fitted times, as a share of T0.
    """

    weights: NDArray[np.float64]
    rates: NDArray[np.float64]
    misfit: float


def compress(pair: Pair, *, alpha_w: float, zeta: float, rho: float = 0.0) -> Exponentials:
    """Fit ``TERMS`` exponentials to the exact response at one place, by linear least squares.

    Holds from ``SHORTEST_TAU`` to ``LONGEST_TAU``. Raises `NotConverged` when the misfit between the
    fitted times exceeds ``ACCEPTED_MISFIT``. About 80 ms.
    """
    rates = 0.05 / LONGEST_TAU * np.exp2(SQUARINGS / LANES * np.arange(TERMS, dtype=np.float64))
    tau = np.geomspace(SHORTEST_TAU, LONGEST_TAU, 3 * TERMS)
    exact = response(pair, alpha_w=alpha_w, tau=tau, zeta=zeta, rho=rho)
    weights = np.asarray(
        np.linalg.lstsq(np.exp(-np.outer(tau, rates)), exact, rcond=1e-13)[0], dtype=np.float64
    )
    between = np.sqrt(tau[1:] * tau[:-1])
    exact_between = response(pair, alpha_w=alpha_w, tau=between, zeta=zeta, rho=rho)
    misfit = float(np.abs(np.exp(-np.outer(between, rates)) @ weights - exact_between).max())
    if misfit > ACCEPTED_MISFIT:
        raise NotConverged(
            f"the heat response at {zeta:g} spot radii below the face is met only to {misfit:.1e} by "
            f"{TERMS} exponentials; {ACCEPTED_MISFIT:.0e} is asked for. Choose a place nearer the spot."
        )
    return Exponentials(weights=weights, rates=rates, misfit=misfit)


def rise_before_pulses(
    response_sum: Exponentials, *, pulse_tau: NDArray[np.float64], heating_k: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Return the rise in kelvin that earlier pulses have left at the instant of each pulse.

    ``pulse_tau``, shape (pulses,), never decreases and is in units of w^2 / D_liquid; ``heating_k``, the
    same shape, is each pulse's own T0. About 45 ns a pulse. Rates must be those of `compress`.
    """
    left = np.empty_like(pulse_tau)
    _recursion(response_sum.weights, response_sum.rates, pulse_tau, heating_k, left)
    return left


# Sums of terms may be taken in any order, so that the processor takes several at once.
@njit(cache=True, nogil=True, fastmath={"reassoc", "contract"})
def _recursion(
    weights: NDArray[np.float64],
    rates: NDArray[np.float64],
    pulse_tau: NDArray[np.float64],
    heating_k: NDArray[np.float64],
    left: NDArray[np.float64],
) -> None:
    """Fill ``left`` pulse by pulse; the decay factors are kept while the spacing stays the same."""
    memory, decay = np.zeros(TERMS), np.ones(TERMS)
    left[:1] = 0.0
    spacing = 0.0
    for pulse in range(1, pulse_tau.size):
        gap = pulse_tau[pulse] - pulse_tau[pulse - 1]
        if gap != spacing:
            spacing = gap
            _decays(rates, gap, decay)
        heat, total = heating_k[pulse - 1], 0.0
        for j in range(TERMS):
            memory[j] = (memory[j] + heat) * decay[j]
            total += weights[j] * memory[j]
        left[pulse] = total


@njit(cache=True, nogil=True)
def _decays(rates: NDArray[np.float64], gap_tau: float, decay: NDArray[np.float64]) -> None:
    """Fill in exp(-rate gap), by squaring from group to group."""
    for i in range(LANES):
        decay[i] = np.exp(-rates[i] * gap_tau)
    for first in range(0, TERMS - LANES, LANES):
        for i in range(LANES):
            share = decay[first + i]
            for _ in range(SQUARINGS):
                share *= share
            decay[first + LANES + i] = share
