"""Estimate how far a beam is a hazard: bare, behind the lens, off a mirror-like surface, off a dull one."""

import math
from dataclasses import dataclass
from typing import Final

from farface.kernel import OutOfRange
from farface.records import Laser, Lens
from farface.safety.beam import HazardDistance, hazard_distance
from farface.safety.exposure import NOT_A_CLEARANCE, TrainLimit

# What a dull surface throws back at most; white paint and paper come near it.
_DULL_SHARE: Final = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class WayOut:
    """Hold one way that light may take to an eye: the power on it and how far it is a hazard."""

    name: str
    power_w: float
    divergence_rad: float | None
    limit_w_per_m2: float
    distance_m: float
    words: str = NOT_A_CLEARANCE


def bare_beam_divergence_rad(laser: Laser, lens: Lens) -> float:
    """Give the full divergence at 1/e of the beam before the lens: sqrt(2) M2 lambda / (pi w) [siegman1986].

    The least it can be, with the beam's waist at the lens: the hazard distance comes out long.
    """
    return math.sqrt(2.0) * laser.m2 * laser.wavelength_m / (math.pi * lens.beam_radius_m)


def cone_divergence_rad(lens: Lens) -> float:
    """Give the full divergence at 1/e behind the focus: 2 (w / sqrt 2) / f."""
    return math.sqrt(2.0) * lens.beam_radius_m / lens.focal_m


def dull_distance_m(*, power_w: float, limit_w_per_m2: float, reflected_share: float = _DULL_SHARE) -> float:
    """Estimate how far light off a dull surface is a hazard, looked at square on [hazard_distance].

    r = sqrt(rho P / (pi E)): a Lambert surface. Holds where the spot is small beside r; the limit is that of
    a small source, which a spot on a wall is from a few of its widths away.
    """
    if not 0.0 <= reflected_share <= 1.0 or not limit_w_per_m2 > 0.0 or not power_w >= 0.0:
        raise OutOfRange(
            f"a share of {reflected_share:g} of {power_w:g} W against {limit_w_per_m2:g} W/m2 has no "
            "hazard distance: a share lies between 0 and 1, power is not below 0 and a limit is above "
            "it. Correct the values."
        )
    return math.sqrt(reflected_share * power_w / (math.pi * limit_w_per_m2))


def ways_out(
    laser: Laser, lens: Lens, *, power_w: float, limit: TrainLimit, shares: dict[str, float]
) -> tuple[WayOut, ...]:
    """Estimate the hazard distance of every way out of a set-up without its enclosure.

    ``shares`` names mirror-like surfaces near the focus and the share of the power each throws back: behind
    its focus the light spreads as the lens's cone does.
    """
    limit_w_per_m2 = limit.limit_w_per_m2
    bare = hazard_distance(
        power_w=power_w,
        divergence_rad=bare_beam_divergence_rad(laser, lens),
        beam_diameter_m=math.sqrt(2.0) * lens.beam_radius_m,
        limit_w_per_m2=limit_w_per_m2,
    )
    cone_rad = cone_divergence_rad(lens)
    found = [
        _way("the beam before the lens", bare),
        _way("the beam behind its focus", _cone(power_w, cone_rad, limit_w_per_m2)),
    ]
    for name, share in shares.items():
        found.append(_way(f"mirrored by {name}", _cone(share * power_w, cone_rad, limit_w_per_m2)))
    dull_m = dull_distance_m(power_w=power_w, limit_w_per_m2=limit_w_per_m2)
    found.append(
        WayOut(
            name="scattered by a dull white surface",
            power_w=power_w,
            divergence_rad=None,
            limit_w_per_m2=limit_w_per_m2,
            distance_m=dull_m,
        )
    )
    return tuple(found)


def _cone(power_w: float, divergence_rad: float, limit_w_per_m2: float) -> HazardDistance:
    return hazard_distance(
        power_w=power_w,
        divergence_rad=divergence_rad,
        beam_diameter_m=0.0,
        limit_w_per_m2=limit_w_per_m2,
    )


def _way(name: str, distance: HazardDistance) -> WayOut:
    return WayOut(
        name=name,
        power_w=distance.power_w,
        divergence_rad=distance.divergence_rad,
        limit_w_per_m2=distance.limit_w_per_m2,
        distance_m=distance.distance_m,
    )
