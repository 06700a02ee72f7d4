"""Work out what to weigh, pour and top up for a bath, and in which order."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from farface.kernel import OutOfRange, show_quantity
from farface.materials import absorber
from farface.materials.aqueous import density_kg_per_m3, fit
from farface.materials.solubility import require_soluble, saturation_mol_per_m3
from farface.records import Bath, Salt

_SALT: Final = "copper_sulfate"
_ACID: Final = "phosphoric_acid"
_ROUNDS: Final = 60
_FIRST_WATER_SHARE: Final = 0.9  # the rest rinses the beaker and tops up
_SETTLED: Final = 1e-12  # relative change of the density at which the shares no longer move


@dataclass(frozen=True, slots=True, kw_only=True)
class WantedBath:
    """Say what a bath should be: copper, acid and volume, from which salt and which acid, in which room.

    ``acid_strength_share`` is the mass share on the acid's label, 0.85 for 85 %.
    """

    salt: Salt
    copper_mol_per_m3: float
    acid_mol_per_m3: float
    acid_strength_share: float
    volume_m3: float
    temperature_k: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Recipe:
    """Hold the amounts for one bath; ``acid_m3`` is None where the strong acid's density has no source.

    ``water_kg`` is what is added as water: the salt's own and the acid's are counted apart.
    """

    wanted: WantedBath
    salt_kg: float
    acid_kg: float
    acid_m3: float | None
    water_kg: float
    density_kg_per_m3: float
    mass_shares: Mapping[str, float]
    saturation_mol_per_m3: float


def work_out(wanted: WantedBath) -> Recipe:
    """Work out the amounts: masses from molar masses, and water up to rho V [laliberte2009, atomic_masses].

    The shares by mass and the density settle together. Raises `OutOfRange` for copper that does not
    dissolve in this room, an acid strength that is no share, a volume that is not above zero, acid whose own
    water overfills the bath, and a solution that the source of the density does not cover.
    """
    _check(wanted)
    shares, density = _settled(wanted)
    salt = absorber(_SALT).molar_mass_kg_per_mol(wanted.salt) * wanted.copper_mol_per_m3 * wanted.volume_m3
    acid = shares[_ACID] * density * wanted.volume_m3 / wanted.acid_strength_share
    water = density * wanted.volume_m3 - salt - acid
    if water < 0.0:
        raise OutOfRange(
            f"acid is {show_quantity(wanted.acid_mol_per_m3, 'mol/m3')} from a label of "
            f"{100 * wanted.acid_strength_share:.3g} %, but its own water alone overfills the bath. Take "
            "less acid, or a stronger one."
        )
    return Recipe(
        wanted=wanted, salt_kg=salt, acid_kg=acid, acid_m3=_acid_m3(wanted, acid), water_kg=water,
        density_kg_per_m3=density, mass_shares=shares,
        saturation_mol_per_m3=saturation_mol_per_m3(wanted.temperature_k),
    )  # fmt: skip


def acid_mol_per_m3(*, strength_share: float, temperature_k: float) -> float:
    """Give the molarity of the acid in its bottle: w rho(w) / M; 85 % is 14.6 mol/L [laliberte2009]."""
    require_strength(strength_share)
    density = density_kg_per_m3({_ACID: strength_share}, temperature_k=temperature_k)
    return strength_share * density / absorber(_ACID).molar_mass_kg_per_mol(_ACID)


def bath_density_kg_per_m3(bath: Bath, *, temperature_k: float) -> float:
    """Give the density of a bath as it is; raises as `work_out` does."""
    wanted = WantedBath(
        salt=bath.salt,
        copper_mol_per_m3=bath.copper_mol_per_m3,
        acid_mol_per_m3=bath.acid_mol_per_m3,
        acid_strength_share=1.0,
        volume_m3=bath.volume_m3,
        temperature_k=temperature_k,
    )
    require_soluble(bath.copper_mol_per_m3, temperature_k=temperature_k)
    return _settled(wanted)[1]


def require_strength(strength_share: float) -> None:
    """Raise `OutOfRange` for a strength that is no share by mass."""
    if not 0.0 < strength_share <= 1.0:
        raise OutOfRange(
            f"acid strength is {100 * strength_share:.4g} %, but a share by mass lies above 0 and is at "
            "most 100 % by its meaning. Read the label again: it may give g/L, or mol/L."
        )


def mixing_steps(recipe: Recipe) -> tuple[str, ...]:
    """Say in which order to mix; the order is common practice, no source."""
    wanted = recipe.wanted
    volume = _millilitres(wanted.volume_m3)
    hot = (
        " It grows hot as it takes up water: add it a little at a time." if "anhydrous" in wanted.salt else ""
    )
    steps = [
        "Put on goggles and gloves; set the beaker in a tray, near running water.",
        f"Measure about {_millilitres(_FIRST_WATER_SHARE * 1e-3 * recipe.water_kg)} of distilled water "
        "into the beaker.",
        f"Weigh {recipe.salt_kg * 1e3:.2f} g of {wanted.salt.replace('_', ' ')} and stir it in until the "
        f"liquid is clear; if that takes long, warm it to 40 C at most.{hot}",
    ]
    if recipe.acid_kg > 0.0:
        poured = "" if recipe.acid_m3 is None else f" ({_millilitres(recipe.acid_m3)})"
        steps.append(
            f"Pour {recipe.acid_kg * 1e3:.2f} g{poured} of phosphoric acid of "
            f"{100 * wanted.acid_strength_share:.3g} % slowly into it: acid into water, never water into "
            "acid."
        )
    return (
        *steps,
        f"Let it come back to the room's temperature, then top up with water to {volume} "
        f"({1e3 * recipe.density_kg_per_m3 * wanted.volume_m3:.1f} g in all).",
        "Filter it if anything is left, and label it: what, how strong, whose, today's date, the hazard "
        "words.",
        "Read its absorption at the laser's wavelength and write it into bath.toml.",
    )


def _check(wanted: WantedBath) -> None:
    require_strength(wanted.acid_strength_share)
    if not wanted.volume_m3 > 0.0 or not wanted.acid_mol_per_m3 >= 0.0:
        raise OutOfRange(
            f"volume is {_millilitres(wanted.volume_m3)} and acid "
            f"{show_quantity(wanted.acid_mol_per_m3, 'mol/m3')}, but a bath has a volume above 0 and acid "
            "of 0 or more. Correct them."
        )
    require_soluble(wanted.copper_mol_per_m3, temperature_k=wanted.temperature_k)


def _settled(wanted: WantedBath) -> tuple[dict[str, float], float]:
    """Find the shares by mass and the density that belong to each other."""
    anhydrous = absorber(_SALT).molar_mass_kg_per_mol("copper_sulfate_anhydrous")
    salt = wanted.copper_mol_per_m3 * anhydrous
    acid = wanted.acid_mol_per_m3 * absorber(_ACID).molar_mass_kg_per_mol(_ACID)
    density = 1000.0 + salt + acid
    for _ in range(_ROUNDS):
        shares = {_SALT: salt / density, _ACID: acid / density}
        before, density = density, density_kg_per_m3(shares, temperature_k=wanted.temperature_k)
        if abs(density - before) < _SETTLED * density:
            break
    return {_SALT: salt / density, _ACID: acid / density}, density


def _acid_m3(wanted: WantedBath, acid_kg: float) -> float | None:
    strength = wanted.acid_strength_share
    if acid_kg == 0.0:
        return 0.0
    if strength > fit(_ACID, "density").mass_share_max * (1.0 + 1e-9):
        return None
    return acid_kg / density_kg_per_m3({_ACID: strength}, temperature_k=wanted.temperature_k)


def _millilitres(volume_m3: float) -> str:
    return f"{volume_m3 * 1e6:.3g} mL"
