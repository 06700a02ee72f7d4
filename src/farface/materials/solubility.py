"""Say how much copper sulfate a bath holds at the room's temperature, and refuse what would settle out."""

from typing import Final

from farface.kernel import OutOfRange, show_quantity
from farface.materials.aqueous import ZERO_CELSIUS_K, density_kg_per_m3, solution_table
from farface.materials.reader import absorber

_SALT: Final = "copper_sulfate"
_ANHYDROUS: Final = "copper_sulfate_anhydrous"
_AT_CELSIUS: Final = 20.0  # where absorbers/copper_sulfate.toml states the solubility


def saturation_mol_per_m3(temperature_k: float) -> float:
    """Give the most copper that water holds at a temperature: c(20 C) times the course of the table.

    c = w rho(w) / M of the table's mass shares w, between its temperatures in straight lines; from memory
    [salt_handbook, laliberte2009]. Leaves out acid, which lowers it: keep a tenth below with acid (common
    practice, no source). Raises `OutOfRange` outside 10 to 40 C.
    """
    stated_mol_per_m3 = absorber(_SALT).solubility_mol_per_m3
    return (
        stated_mol_per_m3
        * _tabled_mol_per_m3(temperature_k)
        / _tabled_mol_per_m3(_AT_CELSIUS + ZERO_CELSIUS_K)
    )


def require_soluble(copper_mol_per_m3: float, *, temperature_k: float) -> None:
    """Raise `OutOfRange` for a concentration that is not above zero or does not dissolve in this room."""
    most_mol_per_m3 = saturation_mol_per_m3(temperature_k)
    if not 0.0 < copper_mol_per_m3 <= most_mol_per_m3:
        given, most = (show_quantity(value, "mol/m3") for value in (copper_mol_per_m3, most_mol_per_m3))
        raise OutOfRange(
            f"copper is {given}, but it must be above 0, and water at "
            f"{temperature_k - ZERO_CELSIUS_K:.3g} C dissolves {most} of copper sulfate (salt_handbook, "
            "from memory). Choose a concentration in that range; in a colder room the rest would settle "
            "out."
        )


def _tabled_mol_per_m3(temperature_k: float) -> float:
    table = solution_table(_SALT)["saturation"]
    at, shares = table["temperature_celsius"], table["mass_share"]
    t = temperature_k - ZERO_CELSIUS_K
    if not at[0] <= t <= at[-1]:
        raise OutOfRange(
            f"temperature is {t:.4g} C, but {table['source']} gives what dissolves from {at[0]:g} to "
            f"{at[-1]:g} C. Bring the room into that range before mixing."
        )
    above = next(k for k in range(1, len(at)) if t <= at[k])
    way = (t - at[above - 1]) / (at[above] - at[above - 1])
    share = shares[above - 1] + way * (shares[above] - shares[above - 1])
    density = density_kg_per_m3({_SALT: share}, temperature_k=temperature_k)
    return float(share * density / absorber(_SALT).molar_mass_kg_per_mol(_ANHYDROUS))
