"""Find the copper that makes light reach as far into the bath as the person wants."""

from farface.kernel import LN10, OutOfRange, show_quantity
from farface.materials import liquid
from farface.records import Known

_SOLVENT = "water"


def wanted_copper_mol_per_m3(
    length_m: float, *, molar_absorption_m2_per_mol: Known, wavelength_m: float
) -> Known:
    """Give the copper (mol/m3) for an absorption length: c = (1/L - alpha_water) / (ln(10) eps).

    eps is decadic. Its standard deviation passes on in full, so that a default eps makes a loose recipe.
    Raises `OutOfRange` for a length that is not above zero, or longer than that of water alone.
    """
    water_per_m = liquid(_SOLVENT).absorption_per_m(wavelength_m)
    if not 0.0 < length_m < 1.0 / water_per_m:
        raise OutOfRange(
            f"absorption length is {show_quantity(length_m, 'm')}, but it must be above 0, and water "
            f"alone has {show_quantity(1.0 / water_per_m, 'm')} "
            f"({liquid(_SOLVENT).source('absorption')}). Choose a shorter one."
        )
    eps = molar_absorption_m2_per_mol
    copper = (1.0 / length_m - water_per_m) / (LN10 * eps.value)
    return Known(value=copper, sd=copper * eps.sd / eps.value, how="computed")
