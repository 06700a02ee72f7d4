"""Find the spot radius and a threshold from the diameters of marks made at several pulse energies."""

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from farface.kernel import Malformed, NotConverged
from farface.optics.beam import peak_fluence_j_per_m2

_MARKS_MIN: Final = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class MarkFit:
    """Hold the 1/e2 radius, the energy and the peak fluence at which marks vanish, and the radius's sd.

    ``residual_m2`` is the root mean square of what the line leaves of D^2.
    """

    radius_m: float
    radius_sd_m: float
    threshold_j: float
    threshold_j_per_m2: float
    residual_m2: float


def fit_diameters(*, energies_j: NDArray[np.float64], diameters_m: NDArray[np.float64]) -> MarkFit:
    """Fit D^2 = 2 w^2 ln(E / E_th) to marks of single pulses, shapes (mark,) each [liu1982].

    The slope over ln E gives w, where the line meets zero gives E_th, and F_th = 2 E_th / (pi w^2). Holds
    for a Gaussian spot and marks with a sharp edge; pulses in number lower the threshold but not w. Raises
    `Malformed` for fewer than three energies or values that are not positive, `NotConverged` where larger
    energies make no larger marks.
    """
    alike = energies_j.shape == diameters_m.shape and np.unique(energies_j).size >= _MARKS_MIN
    if not alike or not (np.all(energies_j > 0.0) and np.all(diameters_m > 0.0)):
        raise Malformed(
            f"there are {energies_j.size} energies and {diameters_m.size} diameters, but the fit of D^2 "
            f"needs as many of each, at {_MARKS_MIN} different energies or more, all above 0 (liu1982). "
            "Leave out pulses that left no mark, and measure more."
        )
    x, y = np.log(energies_j), diameters_m**2
    columns = np.stack([x - x.mean(), np.ones_like(x)], axis=1)
    slope, level = np.linalg.lstsq(columns, y, rcond=None)[0]
    if not slope > 0.0:
        raise NotConverged(
            "larger energies made no larger marks, but D^2 must grow with ln E (liu1982). Check the "
            "columns, and leave out marks that have no clean edge."
        )
    left = y - columns @ np.array([slope, level])
    radius_m = math.sqrt(0.5 * slope)
    threshold_j = math.exp(x.mean() - level / slope)
    return MarkFit(
        radius_m=radius_m,
        radius_sd_m=0.25 * _slope_sd(x, left) / radius_m,
        threshold_j=threshold_j,
        threshold_j_per_m2=peak_fluence_j_per_m2(energy_j=threshold_j, radius_m=radius_m),
        residual_m2=float(np.sqrt(np.mean(left**2))),
    )


def _slope_sd(x: NDArray[np.float64], left: NDArray[np.float64]) -> float:
    """Give the standard deviation of the slope of a straight line, from what it leaves."""
    free = max(1, x.size - 2)
    return math.sqrt(float(left @ left) / free / float(np.sum((x - x.mean()) ** 2)))
