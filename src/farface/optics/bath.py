"""Say how strongly the bath absorbs: from what was weighed, or from what was measured."""

import math

from farface.kernel import LN10, OutOfRange, show_quantity
from farface.materials import absorber, liquid
from farface.optics.plate import reflected_share
from farface.records import Bath, Known, Salt

_SOLUTE = "copper_sulfate"
_SOLVENT = "water"


def copper_mol_per_m3(*, salt: Salt, mass_kg: float, volume_m3: float) -> float:
    """Give the concentration that a weighed mass of one form of the salt makes in a volume of bath.

    28 g/L is 0.175 mol/L of the white anhydrous form, but 0.112 mol/L of the blue pentahydrate.
    """
    return mass_kg / absorber(_SOLUTE).molar_mass_kg_per_mol(salt) / volume_m3


def salt_kg(*, salt: Salt, copper_mol_per_m3: float, volume_m3: float) -> float:
    """Give the mass of salt to weigh for a volume of bath; `OutOfRange` above what dissolves at 20 C."""
    require_dissolved(copper_mol_per_m3)
    return copper_mol_per_m3 * volume_m3 * absorber(_SOLUTE).molar_mass_kg_per_mol(salt)


def require_dissolved(copper_mol_per_m3: float) -> None:
    """Raise `OutOfRange` for a concentration that is not above zero or does not dissolve at 20 C."""
    solute = absorber(_SOLUTE)
    if not 0.0 < copper_mol_per_m3 <= solute.solubility_mol_per_m3:
        given, most = (
            show_quantity(value, "mol/m3") for value in (copper_mol_per_m3, solute.solubility_mol_per_m3)
        )
        raise OutOfRange(
            f"copper is {given}, but it must be above 0, and water at 20 C dissolves {most} of it "
            f"({solute.source('solubility_mol_per_m3')}). Choose a concentration in that range."
        )


def absorption_per_m(bath: Bath, *, wavelength_m: float) -> Known:
    """Give the natural absorption coefficient of a bath; what was measured stands above what is computed.

    alpha = alpha_water + ln(10) eps c, with eps decadic. The standard deviation carries those of eps and
    of the water. Holds for clear dilute to saturated baths, before deposit clouds them; leaves out that
    acid shifts the band of copper. Raises `OutOfRange` where water has no value at this wavelength.
    """
    if bath.absorption_per_m is not None:
        return bath.absorption_per_m
    water = _water_per_m(wavelength_m)
    per_eps_mol_per_m3 = LN10 * bath.copper_mol_per_m3
    eps = bath.molar_absorption_m2_per_mol
    return Known(
        value=water.value + per_eps_mol_per_m3 * eps.value,
        sd=math.hypot(water.sd, per_eps_mol_per_m3 * eps.sd),
        how="computed",
    )


def absorption_length_m(absorption_per_m: Known) -> Known:
    """Give the depth at which 1/e of the light is left, 1/alpha; its sd is to first order."""
    length_m = 1.0 / absorption_per_m.value
    return Known(value=length_m, sd=length_m**2 * absorption_per_m.sd, how=absorption_per_m.how)


def cuvette_absorption_per_m(transmitted_share: Known, *, path_m: float, wavelength_m: float) -> Known:
    """Give the natural absorption from a cuvette of bath read against the same cuvette of clean water.

    alpha = alpha_water - ln(T) / L. Reading against water cancels the cuvette's own reflections; see
    `water_referenced_share` for one that was read against the empty cuvette. Raises `OutOfRange` for a
    transmission that is not between 0 and 1. Best between 0.1 and 0.7: choose the path to suit.
    """
    if not 0.0 < transmitted_share.value < 1.0:
        raise OutOfRange(
            f"transmission is {transmitted_share.value:.3g}, but a bath lets through more than 0 and less "
            "than 1 of what water lets through. Check the readings, or take a cuvette of another path."
        )
    water = _water_per_m(wavelength_m)
    return Known(
        value=water.value - math.log(transmitted_share.value) / path_m,
        sd=math.hypot(water.sd, transmitted_share.sd / (transmitted_share.value * path_m)),
        how="measured",
    )


def water_referenced_share(
    empty_referenced_share: Known, *, path_m: float, wavelength_m: float, index_cuvette: float
) -> Known:
    """Turn a transmission read against the empty cuvette into one against the same cuvette of water.

    Water inside takes away most of the reflection of the two inner walls and absorbs a little itself:
    T_water = T_empty ((1 - R_air) / (1 - R_water))^2 exp(alpha_water L).
    """
    water = liquid(_SOLVENT)
    wet = 1.0 - reflected_share(index_from=index_cuvette, index_to=water.index(wavelength_m))
    dry = 1.0 - reflected_share(index_from=index_cuvette, index_to=1.0)
    factor = (dry / wet) ** 2 * math.exp(water.absorption_per_m(wavelength_m) * path_m)
    return Known(
        value=factor * empty_referenced_share.value,
        sd=factor * empty_referenced_share.sd,
        how=empty_referenced_share.how,
    )


def molar_absorption_m2_per_mol(
    absorption_per_m: Known, *, copper_mol_per_m3: float, wavelength_m: float
) -> Known:
    """Give the decadic molar absorption behind a measured one: (alpha - alpha_water) / (ln(10) c)."""
    water = _water_per_m(wavelength_m)
    scale_mol_per_m3 = LN10 * copper_mol_per_m3
    return Known(
        value=(absorption_per_m.value - water.value) / scale_mol_per_m3,
        sd=math.hypot(absorption_per_m.sd, water.sd) / scale_mol_per_m3,
        how=absorption_per_m.how,
    )


def _water_per_m(wavelength_m: float) -> Known:
    water = liquid(_SOLVENT)
    value_per_m = water.absorption_per_m(wavelength_m)
    return Known(value=value_per_m, sd=value_per_m * water.absorption.sd_share, how="stated")
