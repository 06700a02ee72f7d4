"""Gather what a beam asks of eyes, skin and walls at one energy and rate, by both tables, inputs shown."""

import math
from dataclasses import dataclass
from functools import partial
from typing import Final

from farface.records import Laser, Lens
from farface.safety.beam import BeamHazard, beam_hazard
from farface.safety.distances import WayOut, ways_out
from farface.safety.exposure import (
    NOT_A_CLEARANCE,
    ExposureLimit,
    TrainLimit,
    single_pulse_limit,
    train_limit,
)
from farface.safety.limit_tables import Edition

LEGAL: Final[Edition] = "directive_2006_25_ec"
# How long an eye is taken to look into a beam that it cannot see: common practice, no source.
LOOK_S: Final = 10.0


@dataclass(frozen=True, slots=True, kw_only=True)
class HazardEstimates:
    """Hold the estimates for one rig, energy and rate; ``stricter`` is the one that distances rest on.

    ``legal`` is by the directive alone, ``stricter`` by the later values where they are lower. ``skin_share``
    is the exposure of skin in the bare beam over its limit.
    """

    pulse_energy_j: float
    rate_hz: float
    exposure_s: float
    single_legal: ExposureLimit
    legal: TrainLimit
    stricter: TrainLimit
    skin: TrainLimit
    skin_share: float
    beam: BeamHazard
    ways: tuple[WayOut, ...]
    words: str = NOT_A_CLEARANCE


def estimates(
    laser: Laser,
    lens: Lens,
    *,
    pulse_energy_j: float,
    rate_hz: float,
    mirrored_shares: dict[str, float],
    exposure_s: float = LOOK_S,
) -> HazardEstimates:
    """Estimate limits, eyewear and distances; ``mirrored_shares`` are by surface what it throws back.

    Raises `OutOfRange` outside 400 to 1400 nm, for a longer look than the tables hold, and for more energy
    than the laser is rated for.
    """
    limit_of = partial(
        train_limit,
        wavelength_m=laser.wavelength_m,
        pulse_s=laser.pulse_s,
        rate_hz=rate_hz,
        exposure_s=exposure_s,
    )
    beam = beam_hazard(laser, lens, pulse_energy_j=pulse_energy_j, rate_hz=rate_hz, exposure_s=exposure_s)
    skin = limit_of("skin")
    bare_j_per_m2 = pulse_energy_j / (math.pi * lens.beam_radius_m**2 / 2.0)
    return HazardEstimates(
        pulse_energy_j=pulse_energy_j,
        rate_hz=rate_hz,
        exposure_s=exposure_s,
        single_legal=single_pulse_limit(
            "eye", wavelength_m=laser.wavelength_m, duration_s=laser.pulse_s, edition=LEGAL
        ),
        legal=limit_of("eye", edition=LEGAL),
        stricter=beam.limit,
        skin=skin,
        skin_share=bare_j_per_m2 / skin.limit_j_per_m2,
        beam=beam,
        ways=ways_out(
            laser, lens, power_w=pulse_energy_j * rate_hz, limit=beam.limit, shares=mirrored_shares
        ),
    )


def show_metres(length_m: float) -> str:
    """Write a distance in metres with three digits, and never with an exponent."""
    return f"{float(f'{length_m:.3g}'):.10g} m"


def enclosure_advice(found: HazardEstimates) -> tuple[str, ...]:
    """Say what the distances mean for an enclosure; common practice, no source."""
    longest = max(found.ways, key=lambda way: way.distance_m)
    dull = found.ways[-1]
    power_w = found.pulse_energy_j * found.rate_hz
    return (
        f"By estimate {longest.name} is a hazard to {show_metres(longest.distance_m)}, which no room "
        "holds: enclose the whole path, on all sides and below, and interlock every door so that opening "
        "it stops the beam.",
        f"Even light scattered once is a hazard to about {show_metres(dull.distance_m)}: a cover over the "
        "work alone is not enough, and nobody looks in through a gap.",
        "Make walls of metal, matt inside, or of panels rated for this wavelength, that bear "
        f"{power_w:.3g} W until it is noticed. Clear plastic that the eye sees through mostly lets 1064 "
        "nm through as well.",
        "Watch by camera. Where a window must be, it carries a rating for this wavelength and a density "
        f"of at least {found.beam.eyewear.optical_density:.1f}.",
    )
