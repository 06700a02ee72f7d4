"""Turn the sizes and lives of bubbles on a film into energies, with the wall's part in both."""

from collections.abc import Sequence
from dataclasses import dataclass

from farface.cavity.keller_miksis import KellerMiksis
from farface.cavity.wall import life_ratio, volume_share
from farface.materials.bubble_life import (
    WATER_KG_PER_M3,
    WATER_OVERPRESSURE_PA,
    energy_from_radius_j,
    life_s,
    radius_from_life_m,
)
from farface.records import Bubble


@dataclass(frozen=True, slots=True, kw_only=True)
class BubbleEnergy:
    """Hold one bubble's stand-off, depth over largest radius, and its energy by size and by life.

    The two rest on different observations, so that they disagree tells of a wrong scale, a wrong frame rate,
    or a bubble whose largest size fell between frames.
    """

    standoff_ratio: float
    energy_j: float
    energy_from_life_j: float


def bubble_energies(
    bubbles: Sequence[Bubble], *, overpressure_pa: float = WATER_OVERPRESSURE_PA
) -> tuple[BubbleEnergy, ...]:
    """Compute energies at the largest size: dp times the volume in front of the face [rayleigh1917].

    By size: (4/3) pi R^3 dp times the share of the sphere below the face. By life: the radius whose life near
    the wall is the one seen, at the stand-off seen, in place of the radius. Leaves out the surface's energy:
    under 2 % above 100 um radius. ``overpressure_pa`` is the liquid's pressure less the bubble's.
    """
    return tuple(_energy(bubble, overpressure_pa) for bubble in bubbles)


def _energy(bubble: Bubble, overpressure_pa: float) -> BubbleEnergy:
    standoff_ratio = max(0.0, bubble.below_m) / bubble.radius_max_m
    free_life_s = bubble.life_s / life_ratio(standoff_ratio)
    by_life_m = radius_from_life_m(free_life_s, WATER_KG_PER_M3, overpressure_pa)
    share = volume_share(standoff_ratio)
    return BubbleEnergy(
        standoff_ratio=standoff_ratio,
        energy_j=share * energy_from_radius_j(bubble.radius_max_m, overpressure_pa),
        energy_from_life_j=share * energy_from_radius_j(by_life_m, overpressure_pa),
    )


def collapse_beyond_rayleigh_ratio(radius_max_m: float, *, gas_share: float = 0.1) -> float:
    """Compute a free collapse's time after Keller and Miksis over Rayleigh's for the same radius.

    The gas inside would be at rest at ``gas_share`` of the largest radius. Adds to Rayleigh surface tension,
    viscosity, gas and the liquid's compressibility [keller1980]; from 50 um to 1 mm it is within 3 % of 1, so
    lives and energies here rest on Rayleigh's form.
    """
    model = KellerMiksis(gas_radius_m=gas_share * radius_max_m)
    end = model.course(start_m=radius_max_m).first_minimum
    rayleigh_s = 0.5 * life_s(radius_max_m, model.density_kg_per_m3, model.pressure_pa)
    return float("nan") if end is None else end.time_s / rayleigh_s
