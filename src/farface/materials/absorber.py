"""Hold what is dissolved in the bath: its forms as weighed, its absorption, its solubility."""

from collections.abc import Mapping
from dataclasses import dataclass

from farface.kernel import Missing
from farface.materials.sourced import Sourced
from farface.materials.spectral import check_wavelength
from farface.records import Known


@dataclass(frozen=True, slots=True, kw_only=True)
class Absorber(Sourced):
    """Hold one solute; ``molar_masses_kg_per_mol`` has one entry a form that can be weighed.

    ``molar_absorption_m2_per_mol`` is decadic and holds in ``range_m`` of vacuum wavelength only.
    """

    molar_masses_kg_per_mol: Mapping[str, float]
    molar_absorption_m2_per_mol: Known
    range_m: tuple[float, float]
    solubility_mol_per_m3: float

    def molar_mass_kg_per_mol(self, form: str) -> float:
        """Give the mass of one mole of a form; `Missing` names the forms that exist."""
        if form not in self.molar_masses_kg_per_mol:
            forms = ", ".join(sorted(self.molar_masses_kg_per_mol))
            raise Missing(f'form is "{form}", but {self.name} has {forms}. Choose one of them.')
        return self.molar_masses_kg_per_mol[form]

    def decadic_m2_per_mol(self, wavelength_m: float) -> Known:
        """Give the decadic molar absorption at a wavelength; `OutOfRange` where its source says nothing."""
        source = self.source("molar_absorption_m2_per_mol")
        check_wavelength(wavelength_m, range_m=self.range_m, source=source)
        return self.molar_absorption_m2_per_mol
