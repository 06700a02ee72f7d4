"""Bound what an hour of running takes out of a bath: copper, water, and cold."""

import math
from dataclasses import dataclass
from typing import Final

from farface.materials import liquid
from farface.records import Bath

# Share of the copper that may go before the absorption is off by as much: common practice, no source.
RENEW_SHARE: Final = 0.1
HOUR_S: Final = 3600.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Wear:
    """Hold the most that running can take out of a bath; each is an upper bound, not a forecast.

    ``renew_s`` is the running time after which a tenth of the copper could be gone, infinite for none.
    """

    copper_mol_per_s: float
    copper_share_per_hour: float
    renew_s: float
    water_kg_per_s: float
    level_drop_m_per_s: float
    warming_k_per_s: float


def wear(
    bath: Bath,
    *,
    flash_rate_hz: float,
    spot_radius_m: float,
    column_m: float,
    absorbed_w: float,
    surface_m2: float,
    density_kg_per_m3: float,
) -> Wear:
    """Bound the wear of a bath at one setting.

    Copper: every flash turns all copper of its superheated column to oxide, c pi w^2 z a flash. Water: all
    absorbed power boils it off, P / h_fg, over ``surface_m2``. Warming: all of it stays in the bath,
    P / (rho V c_water). Only one of the last two can be, and most heat leaves through the cell's walls.
    """
    water = liquid("water")
    per_flash = bath.copper_mol_per_m3 * math.pi * spot_radius_m**2 * column_m
    copper = flash_rate_hz * per_flash
    held = bath.copper_mol_per_m3 * bath.volume_m3
    steam = absorbed_w / water.latent_j_per_kg
    heat_capacity = density_kg_per_m3 * bath.volume_m3 * water.heat_capacity_j_per_kg_k
    return Wear(
        copper_mol_per_s=copper,
        copper_share_per_hour=HOUR_S * copper / held,
        renew_s=RENEW_SHARE * held / copper if copper > 0.0 else math.inf,
        water_kg_per_s=steam,
        level_drop_m_per_s=steam / water.density_kg_per_m3 / surface_m2,
        warming_k_per_s=absorbed_w / heat_capacity,
    )
