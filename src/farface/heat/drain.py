"""Tabulate how the cold glass drains the heated column, so that a window map can read it in nanoseconds.

On the axis the response is 1/(1 + 8 tau), the radial spreading, times a drain factor between 0 and 1
that depends on depth, time and absorption but only weakly on radius.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numba import njit
from numpy.typing import NDArray

from farface.heat.halfspace import Pair, response

# Depths below the face, in spot radii, at which the liquid's hottest point is looked for: short trains are
# hottest a few micrometres down, long ones deeper, because the glass drains the face.
PROBES_ZETA: Final = np.array([0.1, 0.4, 1.2, 4.0, 12.0])
LOG_TAU: Final = np.linspace(np.log(1e-5), np.log(3e3), 64)
LOG_ALPHA_W: Final = np.linspace(np.log(1e-3), np.log(0.6), 14)


@dataclass(frozen=True, slots=True, kw_only=True)
class DrainTable:
    """Hold the drain factor, shape (alpha_w, probe, tau), over the grids of this module."""

    factor: NDArray[np.float64]


def drain_table(pair: Pair) -> DrainTable:
    """Tabulate response x (1 + 8 tau) on the axis from the exact solution. About 0.5 s a pair."""
    tau = np.exp(LOG_TAU)
    factor = np.empty((LOG_ALPHA_W.size, PROBES_ZETA.size, LOG_TAU.size))
    for i, log_alpha_w in enumerate(LOG_ALPHA_W):
        on_axis = response(
            pair, alpha_w=float(np.exp(log_alpha_w)), tau=tau[None, :], zeta=PROBES_ZETA[:, None]
        )
        factor[i] = on_axis * (1.0 + 8.0 * tau)
    return DrainTable(factor=factor)


@njit(cache=True, nogil=True)
def drain_at(factor: NDArray[np.float64], log_alpha_w: float, probe: int, log_tau: float) -> float:
    """Read the table by linear interpolation in both logarithms, held constant past its ends."""
    a = (log_alpha_w - LOG_ALPHA_W[0]) / (LOG_ALPHA_W[1] - LOG_ALPHA_W[0])
    a = min(max(a, 0.0), LOG_ALPHA_W.size - 1.000001)
    t = (log_tau - LOG_TAU[0]) / (LOG_TAU[1] - LOG_TAU[0])
    t = min(max(t, 0.0), LOG_TAU.size - 1.000001)
    i, j = int(a), int(t)
    u, v = a - i, t - j
    return float(
        (1 - u) * ((1 - v) * factor[i, probe, j] + v * factor[i, probe, j + 1])
        + u * ((1 - v) * factor[i + 1, probe, j] + v * factor[i + 1, probe, j + 1])
    )
