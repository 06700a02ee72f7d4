"""Add up the heat of any scan: pulses anywhere at any time, read anywhere at any time."""

import math

import numpy as np
from numba import njit
from numpy.typing import NDArray

from farface.heat.train import Exponentials


def rise_of_scan_k(
    on_axis: Exponentials,
    *,
    pulse_tau: NDArray[np.float64],
    pulse_rho: NDArray[np.float64],
    heating_k: NDArray[np.float64],
    tau: NDArray[np.float64],
    rho: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Return the rise in kelvin at places and times of a scan, shape (reading,).

    Pulse i comes at ``pulse_tau[i]`` (units of w^2 / D_liquid) at the place ``pulse_rho[i]`` (shape
    (pulses, 2), in spot radii) and heats by ``heating_k[i]``; readings are at ``tau`` and ``rho`` alike. A
    pulse counts from the instant after it. Off its axis a response is that on the axis times
    exp(-2 rho^2 / (1 + 8 tau)), the spreading of the liquid alone: exact where glass spreads heat as the
    liquid does, and within 2 % of T0 for water under glass. Costs one exponential a term, pulse and reading.
    """
    found = np.zeros(tau.size)
    _sum_scan(on_axis.weights, on_axis.rates, pulse_tau, pulse_rho, heating_k, tau, rho, found)
    return found


@njit(cache=True, nogil=True)
def _sum_scan(
    weights: NDArray[np.float64],
    rates: NDArray[np.float64],
    pulse_tau: NDArray[np.float64],
    pulse_rho: NDArray[np.float64],
    heating_k: NDArray[np.float64],
    tau: NDArray[np.float64],
    rho: NDArray[np.float64],
    found: NDArray[np.float64],
) -> None:
    """Fill ``found`` by the plain double sum."""
    for i in range(tau.size):
        for j in range(pulse_tau.size):
            since = tau[i] - pulse_tau[j]
            if since <= 0.0:
                continue
            away = (rho[i, 0] - pulse_rho[j, 0]) ** 2 + (rho[i, 1] - pulse_rho[j, 1]) ** 2
            falloff = math.exp(-2.0 * away / (1.0 + 8.0 * since))
            if falloff < 1e-12:
                continue
            response = 0.0
            for k in range(rates.size):
                response += weights[k] * math.exp(-rates[k] * since)
            found[i] += heating_k[j] * falloff * response
