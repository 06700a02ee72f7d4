"""Pass the beam through the plate: what is lost on the way to the far face, and where the focus goes."""

import math
from dataclasses import dataclass

from farface.materials import Glass, Liquid


def reflected_share(*, index_from: float, index_to: float, extinction: float = 0.0) -> float:
    """Give the share reflected at normal incidence, R = ((n1-n2)^2 + k^2) / ((n1+n2)^2 + k^2).

    ``extinction`` is k of the second medium, 0 for a clear one [born1999].
    """
    difference, total = index_from - index_to, index_from + index_to
    return (difference**2 + extinction**2) / (total**2 + extinction**2)


def skin_depth_m(*, wavelength_m: float, extinction: float) -> float:
    """Give the depth of an absorbing film at which 1/e of the light is left, lambda / (4 pi k).

    k is its extinction. A film so many of these thick has that optical depth; leaves out what its faces
    reflect. At 1064 nm copper's is 12 nm [johnson1972].
    """
    return wavelength_m / (4.0 * math.pi * extinction)


@dataclass(frozen=True, slots=True, kw_only=True)
class PlateShares:
    """Hold what becomes of the light that meets the plate, each as a share of the light at that place.

    ``front_share`` is reflected at the front face, ``bulk_share`` of the rest absorbed in the glass, and
    ``back_share`` of what arrives at the far face reflected there.
    """

    front_share: float
    bulk_share: float
    back_share: float

    @property
    def arriving_share(self) -> float:
        """Give the share of the incoming light that arrives at the far face, inside the glass."""
        return (1.0 - self.front_share) * (1.0 - self.bulk_share)

    @property
    def entering_share(self) -> float:
        """Give the share of the incoming light that enters the bath."""
        return self.arriving_share * (1.0 - self.back_share)


def plate_shares(glass: Glass, liquid: Liquid, *, thickness_m: float, wavelength_m: float) -> PlateShares:
    """Follow light at normal incidence from air through clean glass into the liquid.

    The bulk takes 1 - exp(-alpha t). Leaves out light reflected twice (below 2e-4 of the whole), dirt,
    coatings, and what the etched floor scatters.
    """
    glass_index = glass.index(wavelength_m)
    return PlateShares(
        front_share=reflected_share(index_from=1.0, index_to=glass_index),
        bulk_share=-math.expm1(-glass.absorption_per_m(wavelength_m) * thickness_m),
        back_share=reflected_share(index_from=glass_index, index_to=liquid.index(wavelength_m)),
    )


def focus_shift_m(*, thickness_m: float, index: float, sine: float = 0.0) -> float:
    """Give how much deeper than in air a plate puts the focus: t (1 - cos u / sqrt(n^2 - sin^2 u)).

    ``sine`` is sin u of the ray to the axis in air; 0 gives the paraxial t (1 - 1/n) [smith2008].
    """
    return thickness_m * (1.0 - math.sqrt((1.0 - sine**2) / (index**2 - sine**2)))


def lens_drop_m(*, thickness_m: float, index: float) -> float:
    """Give how far to lower the lens after focusing on the front face, to focus on the far one: t / n.

    A lens lowered by d moves the focus by n d inside the glass. The same holds for a floor that has
    risen into the glass by t: raise the lens by t / n.
    """
    return thickness_m / index


def focus_spread_m(*, thickness_m: float, index: float, sine: float) -> float:
    """Give how much deeper the outermost rays cross the axis than the innermost: spherical aberration.

    Exact, as the difference of two focus shifts; for small u it is t (n^2 - 1) u^2 / (2 n^3).
    """
    marginal_m = focus_shift_m(thickness_m=thickness_m, index=index, sine=sine)
    return marginal_m - focus_shift_m(thickness_m=thickness_m, index=index)


def focus_spread_third_order_m(*, thickness_m: float, index: float, sine: float) -> float:
    """Give the spherical aberration to third order: t (n^2 - 1) u^2 / (2 n^3), with u in radians."""
    return thickness_m * (index**2 - 1.0) * math.asin(sine) ** 2 / (2.0 * index**3)


def wavefront_error_m(*, thickness_m: float, index: float, sine: float) -> float:
    """Give the spherical wavefront aberration at the edge: W040 = t (n^2 - 1) u^4 / (8 n^3) [smith2008].

    Above a quarter of the wavelength the focus is visibly worse than a Gaussian one, however it is set.
    """
    return thickness_m * (index**2 - 1.0) * math.asin(sine) ** 4 / (8.0 * index**3)
