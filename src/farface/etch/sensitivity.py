"""Say which unknown moves a prediction most: what would be worth measuring."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True, slots=True, kw_only=True)
class Sensitivity:
    """Hold the share of a prediction's spread that each unknown explains by itself, shape (unknown,).

    ``explained_share`` is what they explain together; the rest is bends and interplay.
    """

    shares: NDArray[np.float64]
    explained_share: float


def sensitivity(draws: NDArray[np.float64], prediction: NDArray[np.float64]) -> Sensitivity:
    """Share out the spread of a prediction, shape (draw,), over the unknowns in ``draws``, (draw, unknown).

    Ranks of the prediction are regressed on the logarithms of the unknowns; with independent draws the
    squared standardised slopes are first-order indices of the ranks, and sum to at most the variance
    explained [saltelli2008]. After a fit unknowns are correlated and the shares only rank them.
    """
    logs = np.log(draws)
    spread = logs.std(axis=0)
    known = np.where(spread > 0.0, (logs - logs.mean(axis=0)) / np.where(spread > 0.0, spread, 1.0), 0.0)
    ranks = np.argsort(np.argsort(prediction)).astype(np.float64)
    ranks = (ranks - ranks.mean()) / ranks.std()
    slopes = np.linalg.lstsq(known, ranks, rcond=None)[0]
    left = ranks - known @ slopes
    return Sensitivity(shares=np.asarray(slopes**2), explained_share=float(1.0 - left.var()))
