"""Compute the natural absorption coefficient of a material from a published table."""

import math
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from farface.kernel import Malformed, OutOfRange, in_unit

# Two neighbours further apart than this may hide a band between them.
_STEP_MAX: Final = 2.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Spectrum:
    """Hold a table of natural absorption coefficients over rising vacuum wavelengths.

    alpha between two points is interpolated in its logarithm. ``sd_share`` is the spread from batch
    to batch as a share of the value. Raises `Malformed` for a table that cannot be interpolated: not
    rising, not positive, or with a step of more than a factor of 2.5. So coarse a table of water, with
    points only at 1.0 and 1.2 um [hale1973], gives 61 /m at 1.064 um, where finer ones give 14 to 15 /m
    [kedenburg2012, segelstein1981].
    """

    wavelengths_m: tuple[float, ...]
    absorptions_per_m: tuple[float, ...]
    sd_share: float
    source: str

    def __post_init__(self) -> None:
        if len(self.wavelengths_m) != len(self.absorptions_per_m) or len(self.wavelengths_m) < 2:
            raise Malformed(
                f"absorption from {self.source} has {len(self.wavelengths_m)} wavelengths and "
                f"{len(self.absorptions_per_m)} values, but a table needs as many of each and at least two. "
                "Complete the table."
            )
        _check_rising(self.wavelengths_m, source=self.source)
        _check_steps(self.absorptions_per_m, self.wavelengths_m, source=self.source)

    @property
    def range_m(self) -> tuple[float, float]:
        """Give the shortest and the longest wavelength of the table."""
        return self.wavelengths_m[0], self.wavelengths_m[-1]

    def absorption_per_m(self, wavelength_m: float) -> float:
        """Interpolate the natural absorption coefficient; `OutOfRange` beyond the table."""
        check_wavelength(wavelength_m, range_m=self.range_m, source=self.source)
        right = min(bisect_right(self.wavelengths_m, wavelength_m), len(self.wavelengths_m) - 1)
        l0, l1 = self.wavelengths_m[right - 1 : right + 1]
        a0, a1 = self.absorptions_per_m[right - 1 : right + 1]
        return a0 * math.exp(math.log(a1 / a0) * (wavelength_m - l0) / (l1 - l0))


def check_wavelength(wavelength_m: float, *, range_m: tuple[float, float], source: str) -> None:
    """Raise `OutOfRange` for a wavelength that the source does not cover."""
    if not range_m[0] <= wavelength_m <= range_m[1]:
        given, low, high = (f"{in_unit(value, 'um', 'm'):.4g}" for value in (wavelength_m, *range_m))
        raise OutOfRange(
            f"wavelength is {given} um, but {source} covers {low} to {high} um. "
            "Choose a wavelength in that range, or add a source that covers it."
        )


def _check_rising(wavelengths_m: Sequence[float], *, source: str) -> None:
    for left, right in pairwise(wavelengths_m):
        if right <= left:
            raise Malformed(
                f"absorption from {source} goes from {in_unit(left, 'um', 'm'):.4g} to "
                f"{in_unit(right, 'um', 'm'):.4g} um, but wavelengths of a table must rise. Sort them."
            )


def _check_steps(absorptions_per_m: Sequence[float], wavelengths_m: Sequence[float], *, source: str) -> None:
    if min(absorptions_per_m) <= 0.0:
        raise Malformed(
            f"absorption from {source} has a value of {min(absorptions_per_m):g} /m, but every value of a "
            "table must be above zero. Give the least value the source can tell from zero."
        )
    for i, (left, right) in enumerate(pairwise(absorptions_per_m)):
        if abs(math.log(right / left)) > math.log(_STEP_MAX):
            low, high = (in_unit(wavelength_m, "um", "m") for wavelength_m in wavelengths_m[i : i + 2])
            raise Malformed(
                f"absorption from {source} goes from {left:g} to {right:g} /m between {low:.4g} and "
                f"{high:.4g} um, but neighbours may differ by a factor of {_STEP_MAX:g} at most: the table "
                "is too coarse to interpolate. Add points between them."
            )
