"""Gather from rig, bath and materials the numbers that the etching model runs on."""

from dataclasses import dataclass
from functools import lru_cache
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from farface.etch.breaking import Plate
from farface.etch.column import Liquid
from farface.etch.deposit import REMOVAL_LAWS
from farface.heat.drain import drain_table
from farface.heat.halfspace import Pair
from farface.kernel import ATMOSPHERE_PA
from farface.materials import Glass, glass, liquid
from farface.materials import Liquid as LiquidMaterial
from farface.materials.water_liquid import water_by_temperature
from farface.optics.bath import absorption_per_m
from farface.optics.beam import rayleigh_range_m
from farface.optics.spot import rig_shares, spot_radius_m
from farface.records import Bath, Known, Rig

ROOM_K: Final = 293.15
# Length of a hatched line when nothing is said: the side of a trial cell. It sets how soon a line returns.
LINE_M: Final = 2e-3


class BenchNumbers(NamedTuple):
    """Hold the bench for the kernels (a tuple, so that compiled code takes it); all SI."""

    transmission: float
    rayleigh_m: float
    copper_mol_per_m3: float
    acid_mol_per_m3: float
    settle_s: float
    jump_m_per_s: float
    line_m: float
    glass_effusivity_j_per_m2_k_sqrt_s: float
    glass_diffusivity_m2_per_s: float
    glass_share: float
    plate: Plate
    law: int


@dataclass(frozen=True, slots=True, kw_only=True)
class EtchBench:
    """Hold one bench as the model sees it; ``drain`` is the table of `farface.heat.drain`.

    ``removal_law`` is a key of `farface.etch.deposit.REMOVAL_LAWS`.
    """

    absorption_per_m: Known
    water_absorption_per_m: float
    spot_radius_m: Known
    rayleigh_m: float
    rayleigh_in_glass_m: float
    transmission: float
    copper_mol_per_m3: float
    acid_mol_per_m3: float
    settle_s: float
    jump_m_per_s: float
    line_m: float
    thickness_m: float
    glass: Glass
    superheat_rise_k: float
    thermal_resistance_k: float
    liquid: Liquid
    pair: Pair
    drain: NDArray[np.float64]
    removal_law: str = "linear"

    def numbers(self) -> BenchNumbers:
        """Return what the kernels need, as a tuple."""
        return BenchNumbers(
            self.transmission,
            self.rayleigh_m,
            self.copper_mol_per_m3,
            self.acid_mol_per_m3,
            self.settle_s,
            self.jump_m_per_s,
            self.line_m,
            self.glass.effusivity_j_per_m2_k_sqrt_s,
            self.glass.diffusivity_m2_per_s,
            self.pair.effusivity_ratio / (1.0 + self.pair.effusivity_ratio),
            Plate(
                self.glass.young_pa * self.glass.expansion_per_k,
                self.glass.strength_pa,
                self.thickness_m,
                self.glass.diffusivity_m2_per_s,
            ),
            REMOVAL_LAWS[self.removal_law],
        )


def etch_bench(rig: Rig, bath: Bath, *, line_m: float = LINE_M) -> EtchBench:
    """Gather the numbers of a bench; the heat table of a glass and water is built once, in about 0.7 s."""
    water = liquid("water")
    pane = glass(rig.plate.glass)
    spot = spot_radius_m(rig)
    wavelength_m = rig.laser.wavelength_m
    return EtchBench(
        absorption_per_m=absorption_per_m(bath, wavelength_m=wavelength_m),
        water_absorption_per_m=water.absorption_per_m(wavelength_m),
        spot_radius_m=spot,
        rayleigh_m=_rayleigh_m(rig, spot.value, water.index(wavelength_m)),
        rayleigh_in_glass_m=_rayleigh_m(rig, spot.value, pane.index(wavelength_m)),
        transmission=rig_shares(rig).arriving_share,
        copper_mol_per_m3=bath.copper_mol_per_m3,
        acid_mol_per_m3=bath.acid_mol_per_m3,
        settle_s=rig.scanner.settle_s,
        jump_m_per_s=rig.scanner.jump_m_per_s,
        line_m=line_m,
        thickness_m=rig.plate.thickness_m.value,
        glass=pane,
        superheat_rise_k=cold_rise_k(water.superheat_limit_k),
        thermal_resistance_k=thermal_resistance_k(pane),
        liquid=_liquid(water),
        pair=_pair(water, pane),
        drain=_drain(_pair(water, pane)),
    )


def _rayleigh_m(rig: Rig, spot_m: float, index: float) -> float:
    return rayleigh_range_m(waist_m=spot_m, wavelength_m=rig.laser.wavelength_m, m2=rig.laser.m2, index=index)


def _liquid(water: LiquidMaterial) -> Liquid:
    return Liquid(
        water.density_kg_per_m3 * water.heat_capacity_j_per_kg_k,
        water.diffusivity_m2_per_s,
        water.density_kg_per_m3,
        ATMOSPHERE_PA - water.vapour_pressure_pa,
        cold_rise_k(water.saturation_k),
    )


def thermal_resistance_k(pane: Glass) -> float:
    """Return the rise that stresses a held plate to its strength, strength (1 - nu) / (E a)."""
    return pane.strength_pa * (1.0 - pane.poisson) / (pane.young_pa * pane.expansion_per_k)


def cold_rise_k(temperature_k: float) -> float:
    """Return the rise that the heat to a temperature would give water as it is at room temperature.

    Linear responses know one heat capacity; hot water takes more, 8 % to its superheat limit [iapws95].
    """
    table = water_by_temperature()
    span_k = np.linspace(ROOM_K, temperature_k, 400)
    capacity = table.at("heat_capacity_j_per_kg_k", span_k)
    return float(np.trapezoid(capacity, span_k) / capacity[0])


def _pair(water: LiquidMaterial, pane: Glass) -> Pair:
    return Pair(
        diffusivity_ratio=water.diffusivity_m2_per_s / pane.diffusivity_m2_per_s,
        conductivity_ratio=water.conductivity_w_per_m_k / pane.conductivity_w_per_m_k,
    )


@lru_cache(maxsize=8)
def _drain(pair: Pair) -> NDArray[np.float64]:
    return drain_table(pair).factor
