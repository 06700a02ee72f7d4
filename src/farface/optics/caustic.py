"""Fit the caustic of a beam to measured radii, after ISO 11146."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from farface.kernel import Malformed, NotConverged
from farface.optics.least_squares import standard_errors

_POINTS_MIN = 4
# Points all closer to the waist than this share of the Rayleigh range show no more than its width.
_REACH_MIN = 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Caustic:
    """Hold a fitted caustic: the waist, where it lies, the beam quality and the Rayleigh range.

    ``waist_sd_m`` is the waist's standard error, ``residual_m`` the root mean square difference of measured
    and fitted radii.
    """

    waist_m: float
    waist_sd_m: float
    waist_at_m: float
    m2: float
    rayleigh_m: float
    residual_m: float


def fit_caustic(
    *, positions_m: NDArray[np.float64], radii_m: NDArray[np.float64], wavelength_m: float
) -> Caustic:
    """Fit w^2 = a + b z + c z^2 to 1/e2 radii measured in air, shapes (point,) each [iso11146].

    z0 = -b/2c, w0^2 = a - b^2/4c, zR = w0/sqrt(c), M2 = pi w0 sqrt(c) / lambda. Points are weighted by
    1/w^2, so that equal relative errors of the radii count alike. ISO 11146 asks for ten positions, half
    of them within one Rayleigh range of the waist; fewer than four raise `Malformed`. Radii that show no
    waist between the outermost positions raise `NotConverged`.
    """
    _check_points(positions_m, radii_m)
    middle_m, spread_m = float(np.mean(positions_m)), float(np.ptp(positions_m))
    x = (positions_m - middle_m) / spread_m
    columns = np.stack([np.ones_like(x), x, x**2], axis=1)
    a, b, c = np.linalg.lstsq(columns / radii_m[:, None] ** 2, np.ones_like(x), rcond=None)[0]
    if c <= 0.0 or 4.0 * a * c <= b**2:
        raise NotConverged(_NO_WAIST)
    waist_m, slope = math.sqrt(a - b**2 / (4.0 * c)), math.sqrt(c) / spread_m
    waist_at_m, rayleigh_m = middle_m - spread_m * b / (2.0 * c), waist_m / slope
    _check_reach(positions_m - waist_at_m, rayleigh_m)

    def apart(values: NDArray[np.float64]) -> NDArray[np.float64]:
        """Give fitted over measured radii, less 1, at a waist and range in units of the fitted ones."""
        waist, at, reach = values
        distance = (positions_m - waist_at_m) / rayleigh_m - at
        return np.asarray(waist_m * waist * np.hypot(1.0, distance / reach) / radii_m - 1.0)

    fitted = np.array([1.0, 0.0, 1.0])
    left = apart(fitted)
    return Caustic(
        waist_m=waist_m,
        waist_sd_m=waist_m * float(standard_errors(apart, fitted, left, scale=np.ones(3))[0]),
        waist_at_m=waist_at_m,
        m2=math.pi * waist_m * slope / wavelength_m,
        rayleigh_m=rayleigh_m,
        residual_m=float(np.sqrt(np.mean((left * radii_m) ** 2))),
    )


_NO_WAIST = (
    "the measured radii show no waist, but a caustic has one that the positions lie around and reach beyond. "
    "Measure on both sides of the focus, half the points close to it."
)


def _check_points(positions_m: NDArray[np.float64], radii_m: NDArray[np.float64]) -> None:
    alike = positions_m.shape == radii_m.shape and np.unique(positions_m).size >= _POINTS_MIN
    if not alike or not np.all(radii_m > 0.0):
        raise Malformed(
            f"the caustic has {positions_m.size} positions and {radii_m.size} radii, but the fit needs as "
            f"many of each, at {_POINTS_MIN} places or more (iso11146 asks for ten), with radii above 0. "
            "Measure more."
        )


def _check_reach(from_waist_m: NDArray[np.float64], rayleigh_m: float) -> None:
    around = np.min(from_waist_m) < 0.0 < np.max(from_waist_m)
    if not around or np.max(np.abs(from_waist_m)) < _REACH_MIN * rayleigh_m:
        raise NotConverged(_NO_WAIST)
