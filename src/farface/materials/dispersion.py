"""Compute the refractive index of a material from a published dispersion formula."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from farface.materials.spectral import check_wavelength

_UM_PER_M = 1e6


def _sellmeier(wavelength_m: float, coefficients: Sequence[float]) -> float:
    """Sum resonances given by their wavelengths: n^2 = 1 + a + sum b l^2 / (l^2 - c^2).

    l is the vacuum wavelength in um; ``coefficients`` are a, b1, c1, b2, c2, ... with c in um.
    """
    return math.sqrt(1.0 + coefficients[0] + _resonances(wavelength_m, coefficients, power=2))


def _sellmeier_squares(wavelength_m: float, coefficients: Sequence[float]) -> float:
    """Sum resonances given by squared wavelengths: n^2 = 1 + a + sum b l^2 / (l^2 - c), c in um^2."""
    return math.sqrt(1.0 + coefficients[0] + _resonances(wavelength_m, coefficients, power=1))


def _powers(wavelength_m: float, coefficients: Sequence[float]) -> float:
    """Sum powers of the wavelength in um: n = a + sum b l^c; ``coefficients`` are a, b1, c1, b2, c2, ..."""
    return coefficients[0] + sum(b * math.pow(wavelength_m * _UM_PER_M, c) for b, c in _pairs(coefficients))


def _resonances(wavelength_m: float, coefficients: Sequence[float], *, power: int) -> float:
    um2 = (wavelength_m * _UM_PER_M) ** 2
    return sum(b * um2 / (um2 - math.pow(c, power)) for b, c in _pairs(coefficients))


def _pairs(coefficients: Sequence[float]) -> list[tuple[float, float]]:
    return list(zip(coefficients[1::2], coefficients[2::2], strict=True))


FORMULAS: dict[str, Callable[[float, Sequence[float]], float]] = {
    "sellmeier": _sellmeier,
    "sellmeier_squares": _sellmeier_squares,
    "powers": _powers,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Dispersion:
    """Hold one formula of `FORMULAS` with its coefficients, its range, and its source.

    ``sd`` is the standard deviation of the index from batch to batch, not that of the measurement: two
    clear soda-limes differ by 0.008 at 1.064 um [rubin1985, vogt2016].
    """

    formula: str
    coefficients: tuple[float, ...]
    range_m: tuple[float, float]
    sd: float
    source: str

    def index(self, wavelength_m: float) -> float:
        """Give the refractive index at a vacuum wavelength; `OutOfRange` beyond the source's range."""
        check_wavelength(wavelength_m, range_m=self.range_m, source=self.source)
        return FORMULAS[self.formula](wavelength_m, self.coefficients)
