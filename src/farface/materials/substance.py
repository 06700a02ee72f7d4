"""Hold what a plate of glass and a liquid have in common, and each with what is its own."""

import math
from dataclasses import dataclass

from farface.materials.dispersion import Dispersion
from farface.materials.sourced import Sourced
from farface.materials.spectral import Spectrum
from farface.materials.viscosity import Viscosity


@dataclass(frozen=True, slots=True, kw_only=True)
class Substance(Sourced):
    """Hold the density, the heat properties and the optical constants of a material near 20 C."""

    density_kg_per_m3: float
    heat_capacity_j_per_kg_k: float
    conductivity_w_per_m_k: float
    refraction: Dispersion
    absorption: Spectrum

    @property
    def diffusivity_m2_per_s(self) -> float:
        """Give the thermal diffusivity D = k / (rho c)."""
        return self.conductivity_w_per_m_k / (self.density_kg_per_m3 * self.heat_capacity_j_per_kg_k)

    @property
    def effusivity_j_per_m2_k_sqrt_s(self) -> float:
        """Give the thermal effusivity e = sqrt(k rho c)."""
        return math.sqrt(self.conductivity_w_per_m_k * self.density_kg_per_m3 * self.heat_capacity_j_per_kg_k)

    def index(self, wavelength_m: float) -> float:
        """Give the refractive index at a vacuum wavelength; `OutOfRange` beyond the source's range."""
        return self.refraction.index(wavelength_m)

    def absorption_per_m(self, wavelength_m: float) -> float:
        """Give the natural absorption coefficient; `OutOfRange` beyond the source's range."""
        return self.absorption.absorption_per_m(wavelength_m)


@dataclass(frozen=True, slots=True, kw_only=True)
class Glass(Substance):
    """Hold one glass: its elastic constants, strength and softening beside the common properties.

    ``strength_pa`` is what handled plates bear in bending, set by their flaws and not by the glass;
    ``viscosity`` is None where no curve of the melt is known.
    """

    young_pa: float
    poisson: float
    expansion_per_k: float
    strength_pa: float
    toughness_pa_sqrt_m: float
    softening_k: float
    viscosity: Viscosity | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Liquid(Substance):
    """Hold one liquid: what a bubble in it needs beside the common properties, at 20 C and 1 atm.

    ``superheat_limit_k`` is where it boils within microseconds without help from a wall.
    """

    viscosity_pa_s: float
    surface_tension_n_per_m: float
    sound_speed_m_per_s: float
    vapour_pressure_pa: float
    saturation_k: float
    superheat_limit_k: float
    latent_j_per_kg: float
