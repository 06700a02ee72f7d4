"""Estimate what a beam asks of eyewear and distance: optical density and nominal hazard distance."""

import math
from dataclasses import dataclass

from farface.kernel import OutOfRange, show_quantity
from farface.records import Laser, Lens
from farface.safety.exposure import NOT_A_CLEARANCE, TrainLimit, train_limit


@dataclass(frozen=True, slots=True, kw_only=True)
class EyewearDensity:
    """Hold the optical density that would bring an exposure down to its limit."""

    exposure_j_per_m2: float
    limit_j_per_m2: float
    optical_density: float
    words: str = NOT_A_CLEARANCE


@dataclass(frozen=True, slots=True, kw_only=True)
class HazardDistance:
    """Hold the distance within which a bare, unbroken beam exceeds the limit, with its inputs."""

    power_w: float
    divergence_rad: float
    beam_diameter_m: float
    limit_w_per_m2: float
    distance_m: float
    words: str = NOT_A_CLEARANCE


@dataclass(frozen=True, slots=True, kw_only=True)
class BeamHazard:
    """Hold the estimates for one rig at one pulse energy and rate."""

    pulse_energy_j: float
    limit: TrainLimit
    eyewear: EyewearDensity
    distance: HazardDistance
    words: str = NOT_A_CLEARANCE


def eyewear_density(*, exposure_j_per_m2: float, limit_j_per_m2: float) -> EyewearDensity:
    """Compute the optical density log10(exposure / limit) that eyewear must have, 0 when none is needed.

    It says nothing of whether the eyewear withstands the beam: that is on its label, for pulses of this
    length.
    """
    if not (exposure_j_per_m2 > 0.0 and limit_j_per_m2 > 0.0):
        raise OutOfRange(
            f"exposure is {exposure_j_per_m2:g} J/m2 and its limit {limit_j_per_m2:g} J/m2, but both must be "
            "above zero to have a ratio. Give positive values."
        )
    density = max(0.0, math.log10(exposure_j_per_m2 / limit_j_per_m2))
    return EyewearDensity(
        exposure_j_per_m2=exposure_j_per_m2, limit_j_per_m2=limit_j_per_m2, optical_density=density
    )


def hazard_distance(
    *, power_w: float, divergence_rad: float, beam_diameter_m: float, limit_w_per_m2: float
) -> HazardDistance:
    """Compute the nominal ocular hazard distance (sqrt(4 P / (pi E)) - a) / phi [hazard_distance].

    P mean power, E limit as mean irradiance, a beam diameter and phi full divergence, both at 1/e.
    It is 0 where the beam is below the limit at once. Leaves out air, optical aids and mirrors: a lens or a
    mirror-like surface in the way changes it all.
    """
    if not divergence_rad > 0.0:
        raise OutOfRange(
            f"divergence is {divergence_rad:g} rad, but a beam without divergence has no hazard distance. "
            "Give the full angle at 1/e of the peak."
        )
    reach_m = math.sqrt(4.0 * power_w / (math.pi * limit_w_per_m2)) - beam_diameter_m
    return HazardDistance(
        power_w=power_w,
        divergence_rad=divergence_rad,
        beam_diameter_m=beam_diameter_m,
        limit_w_per_m2=limit_w_per_m2,
        distance_m=max(0.0, reach_m) / divergence_rad,
    )


def beam_hazard(
    laser: Laser, lens: Lens, *, pulse_energy_j: float, rate_hz: float, exposure_s: float = 10.0
) -> BeamHazard:
    """Estimate limit, eyewear and distance for the beam beyond the lens's focus, looked into for 10 s.

    Takes the worst case for the eyewear, that the whole pulse enters the aperture; and for the distance the
    cone beyond the focus, full angle 2 (w / sqrt 2) / f at 1/e. Without the lens the beam stays narrow and
    the distance is very much longer.
    """
    if pulse_energy_j > laser.rated_energy_j * (1.0 + 1e-9):
        raise OutOfRange(
            f"pulse energy is {show_quantity(pulse_energy_j, 'J')}, but the rig's laser is rated for "
            f"{show_quantity(laser.rated_energy_j, 'J')}. Give an energy up to that."
        )
    limit = train_limit(
        "eye",
        wavelength_m=laser.wavelength_m,
        pulse_s=laser.pulse_s,
        rate_hz=rate_hz,
        exposure_s=exposure_s,
    )
    into_aperture_j_per_m2 = pulse_energy_j / (math.pi / 4.0 * limit.aperture_m**2)
    return BeamHazard(
        pulse_energy_j=pulse_energy_j,
        limit=limit,
        eyewear=eyewear_density(
            exposure_j_per_m2=into_aperture_j_per_m2, limit_j_per_m2=limit.limit_j_per_m2
        ),
        distance=hazard_distance(
            power_w=pulse_energy_j * rate_hz,
            divergence_rad=math.sqrt(2.0) * lens.beam_radius_m / lens.focal_m,
            beam_diameter_m=0.0,
            limit_w_per_m2=limit.limit_w_per_m2,
        ),
    )
