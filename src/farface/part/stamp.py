"""The dent that one firing point leaves, and what rows and hatches of such dents add up to.

Removal is linear above a threshold and the beam Gaussian, so a dent of peak depth d, at the distance r from
its middle, is

    d(r) = d (exp(-2 r^2 / w^2) - c)+ / (1 - c),

w the 1/e2 radius and c the *threshold share*: threshold fluence over absorbed peak fluence, 0 <= c < 1. All
sums below are exact for dents that add up, which leaves out heat and deposit carried from point to point.
"""

import math

from farface.kernel import OutOfRange


def dent_radius_m(spot_radius_m: float, threshold_share: float) -> float:
    """Compute where a dent ends, w sqrt(ln(1/c) / 2); without a threshold, where it is 1e-4 of its peak."""
    _check(spot_radius_m, threshold_share)
    return spot_radius_m * math.sqrt(0.5 * math.log(1.0 / max(threshold_share, 1e-4)))


def dent_volume_m2(spot_radius_m: float, threshold_share: float) -> float:
    """Compute a dent's volume over its peak depth, (pi w^2 / 2) (1 - c ln(1/c) / (1 - c)), in m3 per m."""
    _check(spot_radius_m, threshold_share)
    c = threshold_share
    lost = c * math.log(1.0 / c) / (1.0 - c) if c > 0.0 else 0.0
    return 0.5 * math.pi * spot_radius_m**2 * (1.0 - lost)


def peak_depth_m(
    depth_per_pass_m: float, *, pitch_m: float, spot_radius_m: float, threshold_share: float
) -> float:
    """Compute the peak depth of a dent from the depth that a hatch of them etches: depth pitch^2 / volume."""
    return depth_per_pass_m * pitch_m**2 / dent_volume_m2(spot_radius_m, threshold_share)


def line_share(*, pitch_m: float, spot_radius_m: float, threshold_share: float) -> float:
    """Compute how deep a single line goes in one pass, over the depth of a hatch at the same setting.

    Dents a pitch p apart along x average to (1/p) integral d(x) dx = d A / p on the line itself, with
    A = (w sqrt(pi/2) erf(sqrt(ln(1/c))) - 2 c R) / (1 - c) and R the dent's radius; a hatch averages to
    d V / p^2. The share is p A / V; without a threshold it is sqrt(2/pi) p / w. Holds while p is below w.
    """
    c = threshold_share
    volume = dent_volume_m2(spot_radius_m, c)
    if c > 0.0:
        core = math.sqrt(math.pi / 2.0) * math.erf(math.sqrt(math.log(1.0 / c)))
        area = spot_radius_m * (core - 2.0 * c * math.sqrt(0.5 * math.log(1.0 / c))) / (1.0 - c)
    else:
        area = spot_radius_m * math.sqrt(math.pi / 2.0)
    return pitch_m * area / volume


def _check(spot_radius_m: float, threshold_share: float) -> None:
    if not (spot_radius_m > 0.0 and math.isfinite(spot_radius_m)):
        raise OutOfRange(
            f"the spot radius is {spot_radius_m * 1e6:g} um; it must be positive. Measure or compute it."
        )
    if not 0.0 <= threshold_share < 1.0:
        raise OutOfRange(
            f"the threshold share is {threshold_share:g}, but a pulse etches only where it lies from 0 up to"
            " 1. Raise the fluence, or see the window for a setting that etches."
        )
