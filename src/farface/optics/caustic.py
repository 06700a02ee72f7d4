"""Fit the caustic of a beam to measured radii, after ISO 11146."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from farface.kernel import Malformed, NotConverged

_POINTS_MIN = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class Caustic:
    """Hold a fitted caustic: the waist, where it lies, the beam quality and the Rayleigh range.

    ``residual_m`` is the root mean square difference of measured and fitted radii.
    """

    waist_m: float
    waist_at_m: float
    m2: float
    rayleigh_m: float
    residual_m: float


def fit_caustic(
    *, positions_m: NDArray[np.float64], radii_m: NDArray[np.float64], wavelength_m: float
) -> Caustic:
    """Fit w^2 = a + b z + c z^2 to radii measured in air, shapes (point,) each [iso11146].

    z0 = -b/2c, w0^2 = a - b^2/4c, zR = w0/sqrt(c), M2 = pi w0 sqrt(c) / lambda. Points are weighted by
    1/w^2, so that equal relative errors of the radii count alike. ISO 11146 asks for ten positions, half
    of them within one Rayleigh range of the waist; fewer than four raise `Malformed`. Radii that do not
    pass through a waist raise `NotConverged`.
    """
    if positions_m.shape != radii_m.shape or positions_m.size < _POINTS_MIN or not np.all(radii_m > 0.0):
        raise Malformed(
            f"the caustic has {positions_m.size} positions and {radii_m.size} radii, but the fit needs as "
            f"many of each, at least {_POINTS_MIN} (iso11146 asks for ten), with radii above 0. Measure more."
        )
    middle_m, spread_m = float(np.mean(positions_m)), float(np.ptp(positions_m))
    x = (positions_m - middle_m) / spread_m if spread_m > 0.0 else np.zeros_like(positions_m)
    weights = 1.0 / radii_m**2
    columns = np.stack([np.ones_like(x), x, x**2], axis=1)
    a, b, c = np.linalg.lstsq(columns * weights[:, None], np.ones_like(x), rcond=None)[0]
    if c <= 0.0 or a - b**2 / (4.0 * c) <= 0.0:
        raise NotConverged(
            "the measured radii pass through no waist, but a caustic has one. Measure on both sides of the "
            "focus, half the points close to it."
        )
    waist_m, slope = math.sqrt(a - b**2 / (4.0 * c)), math.sqrt(c) / spread_m
    residual_m = float(np.sqrt(np.mean((np.sqrt(np.clip(columns @ (a, b, c), 0.0, None)) - radii_m) ** 2)))
    return Caustic(
        waist_m=waist_m,
        waist_at_m=middle_m - spread_m * b / (2.0 * c),
        m2=math.pi * waist_m * slope / wavelength_m,
        rayleigh_m=waist_m / slope,
        residual_m=residual_m,
    )
