"""Tell how a wall changes a cavity's life and size: a cavity at the plate lives longer than a free one.

Distances are in stand-off ratios gamma = h / R_max, h from the wall to the cavity's centre: 0 is a hemisphere
on the wall, 1 a sphere that just touches it. The wall is flat, rigid and lets the liquid slip along it.
"""

import math
from typing import Final

from numba import njit

from farface.kernel import OutOfRange


def _beta(a: float, b: float) -> float:
    return math.gamma(a) * math.gamma(b) / math.gamma(a + b)


# The image's potential slows the wall's motion by R/(2h) to first order; averaged over Rayleigh's collapse it
# lengthens life by this over gamma. Rattray's thesis printed 0.205 [rattray1951].
FIRST_ORDER_SHARE: Final = _beta(7 / 6, 1 / 2) / (4.0 * _beta(5 / 6, 1 / 2))


@njit(cache=True, nogil=True)
def clear_share(gamma: float) -> float:
    """Compute `volume_share` inside compiled code, without checking."""
    gamma = min(gamma, 1.0)
    return float(0.25 * (2.0 + 3.0 * gamma - gamma**3))


@njit(cache=True, nogil=True)
def life_of_same_volume(gamma: float) -> float:
    """Compute life near the wall over that of a free sphere of the same volume, for compiled code."""
    if gamma >= 1.0:
        return 1.0 + FIRST_ORDER_SHARE / gamma
    hemisphere = 2.0 ** (1.0 / 3.0)
    return float(hemisphere + gamma * (1.0 + FIRST_ORDER_SHARE - hemisphere))


def volume_share(standoff_ratio: float) -> float:
    """Give the part of a sphere's volume in front of the wall: (2 + 3 gamma - gamma^3)/4 up to gamma = 1."""
    return float(clear_share(_checked(standoff_ratio)))


def life_ratio(standoff_ratio: float) -> float:
    """Give life near the wall over that of a free sphere of the same largest radius.

    For gamma >= 1 it is 1 + 0.2032/gamma, the first order of image theory [rattray1951]; the orders left out
    are of gamma^-2 and smaller. At gamma = 0 it is 1, exactly: by symmetry a hemisphere on a slipping wall is
    half of a free sphere. Between, life over that of a free sphere *of the same volume* goes in a straight
    line from 2^(1/3) at 0 to 1.2032 at 1: an interpolation of ours, so small a step that its shape matters
    little. Real walls hold the liquid by friction, which flattens and lengthens the very end.
    """
    gamma = _checked(standoff_ratio)
    return float(life_of_same_volume(gamma) * clear_share(gamma) ** (1.0 / 3.0))


def radius_at_wall_m(*, energy_j: float, overpressure_pa: float, standoff_ratio: float) -> float:
    """Give the largest radius a cavity reaches near the wall, from E = dp x its volume [rayleigh1917].

    The wall does no work, so energy fixes the volume and not the radius: a hemisphere grows 2^(1/3) wider
    than a free sphere of the same energy.
    """
    sphere_m3 = energy_j / (overpressure_pa * volume_share(standoff_ratio))
    return float((3.0 * sphere_m3 / (4.0 * math.pi)) ** (1.0 / 3.0))


def _checked(standoff_ratio: float) -> float:
    if standoff_ratio < 0.0:
        raise OutOfRange(
            f"stand-off ratio is {standoff_ratio:g}, but a cavity's centre lies in the bath or on the face, "
            "at 0 or more. Give the distance from the face as a positive number."
        )
    return standoff_ratio
