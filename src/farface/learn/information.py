"""Say how much a cell would tell of the unknowns: by its class, and by its depth."""

import numpy as np
from numpy.typing import NDArray

from farface.etch.forecast import Forecast
from farface.etch.outcome_odds import STEADY
from farface.learn.depth import LEAST_DEPTH_M


def class_information(odds: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the mutual information of class and unknowns in nats, shape (setting,).

    The entropy of the mean odds minus the mean entropy of the odds, shape (draw, setting, class).
    """
    return np.asarray(np.maximum(_entropy(odds.mean(axis=0)) - _entropy(odds).mean(axis=0), 0.0))


def _entropy(odds: NDArray[np.float64]) -> NDArray[np.float64]:
    from scipy.special import entr

    return np.asarray(entr(odds).sum(axis=-1))


def depth_information(ahead: Forecast, width: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the mutual information of log depth and unknowns in nats, shape (setting,), as for Gaussians.

    ln(1 + V / sigma^2) / 2 times the odds of steady, with V the variance of log depth over the draws
    weighed by their odds of steady, and sigma the scatter between cells. Leaves out the reading's error.
    """
    steady = ahead.odds[:, :, STEADY] + 1e-9
    log_depth = np.log(np.maximum(ahead.quantity("depth_per_pass_m"), LEAST_DEPTH_M))
    total = steady.sum(axis=0)
    mean = (steady * log_depth).sum(axis=0) / total
    variance = (steady * (log_depth - mean) ** 2).sum(axis=0) / total
    scatter2 = (steady * width[:, None] ** 2).sum(axis=0) / total
    return np.asarray(0.5 * np.log1p(variance / scatter2) * ahead.odds[:, :, STEADY].mean(axis=0))
