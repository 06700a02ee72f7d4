"""Say which unknown moves a prediction most: what would be worth measuring."""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

# Directions in which the draws' logarithms vary less than this, of the most, are taken for none.
FLAT: Final = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class Sensitivity:
    """Hold the share of a prediction's spread that falls to each unknown, shape (unknown,).

    ``explained_share`` is their sum; the rest is bends and interplay.
    """

    shares: NDArray[np.float64]
    explained_share: float


def sensitivity(draws: NDArray[np.float64], prediction: NDArray[np.float64]) -> Sensitivity:
    """Share out the spread of a prediction, shape (draw,), over the unknowns in ``draws``, (draw, unknown).

    Ranks y of the prediction are regressed on the standardised logarithms X of the unknowns. With
    independent draws the squared slopes are first-order indices of the ranks [saltelli2008]. After a fit
    unknowns are correlated, and squared slopes may exceed the whole; so X = Z R is split into the nearest
    uncorrelated Z and the symmetric root R of the correlations, and unknown i gets sum_j R_ij^2 b_j^2,
    with b the slopes of y on Z [johnson2000]: never negative, together the variance explained, and squared
    slopes again when R = 1.
    """
    logs = np.log(draws)
    spread = logs.std(axis=0)
    known = np.where(spread > 0.0, (logs - logs.mean(axis=0)) / np.where(spread > 0.0, spread, 1.0), 0.0)
    ranks = np.argsort(np.argsort(prediction)).astype(np.float64)
    ranks = (ranks - ranks.mean()) / ranks.std()
    left, size, right = np.linalg.svd(known, full_matrices=False)
    seen = size > FLAT * size.max()
    left, size, right = left[:, seen], size[seen], right[seen]
    slopes = right.T @ (left.T @ ranks)
    root = right.T @ (size[:, None] * right)
    shares = root**2 @ slopes**2 / len(draws) ** 2
    return Sensitivity(shares=shares, explained_share=float(shares.sum()))
