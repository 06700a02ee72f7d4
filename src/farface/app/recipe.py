"""Tell how to mix a bath, what it will be, and how long it lasts."""

from dataclasses import dataclass
from typing import Final

from farface.app.answer import Answer, plain, show_known
from farface.app.titles import titled
from farface.app.workbench import Workbench
from farface.kernel import Malformed, OutOfRange, parse_quantity, show_quantity
from farface.materials import glass
from farface.materials.aqueous import ZERO_CELSIUS_K, viscosity_pa_s
from farface.optics.bath import (
    absorption_length_m,
    absorption_per_m,
    cuvette_absorption_per_m,
    water_referenced_share,
)
from farface.optics.bath import molar_absorption_m2_per_mol as molar_absorption
from farface.prepare.recipe import Recipe, WantedBath, mixing_steps, work_out
from farface.prepare.wanted import wanted_copper_mol_per_m3
from farface.records import Bath, Known, Salt
from farface.report.content import Table

SALTS: Final[dict[str, Salt]] = {
    "pentahydrate": "copper_sulfate_pentahydrate",
    "anhydrous": "copper_sulfate_anhydrous",
}
ROOM_CELSIUS: Final = 20.0
STRENGTH: Final = "85 %"
# What a cuvette read against an empty one is taken to be made of.
CUVETTE: Final = "fused_silica"
_HEADER = ("what", "value", "from")


@dataclass(frozen=True, slots=True, kw_only=True)
class RecipeTyped:
    """Hold a wanted bath as typed; what is left out comes from bath.toml.

    Give a ``length`` (absorption length) or a ``molarity``. ``strength`` stands on the acid's label.
    ``reading`` is the share that a cuvette of the ``path`` lets through ``against`` one of water, or empty.
    """

    length: str | None = None
    molarity: str | None = None
    volume: str | None = None
    salt: str | None = None
    acid: str | None = None
    strength: str = STRENGTH
    room_celsius: float = ROOM_CELSIUS
    reading: str | None = None
    path: str | None = None
    against: str = "water"


def mix_bath(work: Workbench, typed: RecipeTyped) -> Answer:
    """Work out a bath's recipe from what is wanted, and compare it with a reading where there is one."""
    read = _reading(work, typed)
    eps = _molar_absorption(work) if read is None else read[1]
    recipe = work_out(_wanted(work, typed, eps))
    alpha = absorption_per_m(_mixed(work.bath, recipe, eps), wavelength_m=work.rig.laser.wavelength_m)
    answer = Answer(
        title=titled(work, "Recipe for a bath"),
        sentences=(*_sentences(recipe, alpha), *_reading_words(work.bath, read)),
        tables=(
            Table(caption="What to take", header=_HEADER, rows=_amounts(recipe)),
            Table(caption="What it will be", header=_HEADER, rows=_properties(recipe, alpha, eps)),
            Table(
                caption="In this order",
                header=("step", "what to do"),
                rows=tuple((str(n), step) for n, step in enumerate(mixing_steps(recipe), start=1)),
            ),
        ),
        data={
            "recipe": plain(recipe), "absorption_per_m": plain(alpha),
            "absorption_length_m": plain(absorption_length_m(alpha)),
            "viscosity_pa_s": _viscosity(recipe)[0],
            "read_absorption_per_m": None if read is None else plain(read[0]),
            "read_molar_absorption_m2_per_mol": None if read is None else plain(read[1]),
        },
    )  # fmt: skip
    work.publish("recipe", answer, request={"typed": plain(typed)})
    return answer


def _wanted(work: Workbench, typed: RecipeTyped, eps: Known) -> WantedBath:
    bath = work.bath
    if typed.length is not None and typed.molarity is not None:
        raise Malformed("a length and a molarity are both given, but one follows from the other. Give one.")
    if typed.length is not None:
        copper = wanted_copper_mol_per_m3(
            parse_quantity(typed.length, "m", what="the absorption length"),
            molar_absorption_m2_per_mol=eps,
            wavelength_m=work.rig.laser.wavelength_m,
        ).value
    else:
        copper = _typed(typed.molarity, "mol/m3", "the molarity", bath.copper_mol_per_m3)
    return WantedBath(
        salt=_salt(typed.salt, bath.salt),
        copper_mol_per_m3=copper,
        acid_mol_per_m3=_typed(typed.acid, "mol/m3", "the acid", bath.acid_mol_per_m3),
        acid_strength_share=parse_quantity(typed.strength, "1", what="the acid's strength"),
        volume_m3=_typed(typed.volume, "m3", "the volume", bath.volume_m3),
        temperature_k=typed.room_celsius + ZERO_CELSIUS_K,
    )


def _molar_absorption(work: Workbench) -> Known:
    """Give the decadic molar absorption behind the bath's measured absorption, else that of bath.toml."""
    bath = work.bath
    if bath.absorption_per_m is None:
        return bath.molar_absorption_m2_per_mol
    return molar_absorption(
        bath.absorption_per_m,
        copper_mol_per_m3=bath.copper_mol_per_m3,
        wavelength_m=work.rig.laser.wavelength_m,
    )


def _typed(text: str | None, dimension: str, what: str, otherwise: float) -> float:
    return otherwise if text is None else parse_quantity(text, dimension, what=what)


def _salt(text: str | None, otherwise: Salt) -> Salt:
    if text is None:
        return otherwise
    if text not in SALTS:
        raise Malformed(f'"{text}" is no form of the salt. Read the jar: {" or ".join(SALTS)}.')
    return SALTS[text]


def _reading(work: Workbench, typed: RecipeTyped) -> tuple[Known, Known] | None:
    """Give the absorption and the decadic molar one that a reading through the present bath shows."""
    if typed.reading is None and typed.path is None:
        return None
    if typed.reading is None or typed.path is None:
        raise Malformed(
            "a reading needs the share that passes and the path through the bath. Give both, such as "
            '--reading "30 %" --path "1 mm".'
        )
    wavelength_m = work.rig.laser.wavelength_m
    share = parse_quantity(typed.reading, "1", what="the reading")
    path_m = parse_quantity(typed.path, "m", what="the path")
    if not path_m > 0.0:
        raise OutOfRange(f"the path is {typed.path}, but light must pass some bath. Give a path above 0.")
    # A power meter repeats to about a hundredth of its reading: common practice, no source.
    shown = Known(value=share, sd=0.01 * share, how="measured")
    if typed.against == "empty":
        index = glass(CUVETTE).index(wavelength_m)
        shown = water_referenced_share(shown, path_m=path_m, wavelength_m=wavelength_m, index_cuvette=index)
    elif typed.against != "water":
        raise Malformed(f'the reading is against "{typed.against}". Give "water" or "empty", as it was made.')
    alpha = cuvette_absorption_per_m(shown, path_m=path_m, wavelength_m=wavelength_m)
    eps = molar_absorption(alpha, copper_mol_per_m3=work.bath.copper_mol_per_m3, wavelength_m=wavelength_m)
    return alpha, eps


def _reading_words(bath: Bath, read: tuple[Known, Known] | None) -> tuple[str, ...]:
    if read is None:
        return (
            "The absorption rests on what bath.toml says: a reading through the bath (--reading, --path) "
            "says what it is instead.",
        )
    alpha, eps = read
    return (
        f"The reading says instead: absorption {show_known(alpha, '1/m')}, so that copper absorbs "
        f"{show_known(eps, 'm2/mol')} (decadic) at {show_quantity(bath.copper_mol_per_m3, 'mol/m3')}. The "
        "recipe rests on it.",
        f'Write it into bath.toml: absorption = "{alpha.value / 100:.3g} 1/cm +/- '
        f'{max(alpha.sd / 100, 0.01):.2g} 1/cm measured".',
    )


def _mixed(bath: Bath, recipe: Recipe, eps: Known) -> Bath:
    return Bath(
        name=bath.name, invented=bath.invented, salt=recipe.wanted.salt,
        copper_mol_per_m3=recipe.wanted.copper_mol_per_m3, acid_mol_per_m3=recipe.wanted.acid_mol_per_m3,
        molar_absorption_m2_per_mol=eps, volume_m3=recipe.wanted.volume_m3,
    )  # fmt: skip


def _sentences(recipe: Recipe, alpha: Known) -> tuple[str, ...]:
    wanted = recipe.wanted
    return (
        f"Weigh {recipe.salt_kg * 1e3:.2f} g of {wanted.salt.replace('_', ' ')} for "
        f"{wanted.volume_m3 * 1e6:.0f} mL; acid into water, never water into acid.",
        f"Light falls to 37 % over {show_known(absorption_length_m(alpha), 'm')}.",
    )


def _amounts(recipe: Recipe) -> tuple[tuple[str, str, str], ...]:
    wanted = recipe.wanted
    volume = "weigh it" if recipe.acid_m3 is None else f"{recipe.acid_m3 * 1e6:.2f} mL"
    return (
        ("salt", f"{recipe.salt_kg * 1e3:.2f} g of {wanted.salt.replace('_', ' ')}", "molar mass"),
        ("acid, as it is sold", f"{recipe.acid_kg * 1e3:.2f} g ({volume})",
         f"label: {100 * wanted.acid_strength_share:.3g} % by mass"),
        ("water to add", f"{recipe.water_kg * 1e3:.1f} g", "density of the bath, laliberte2009"),
        ("in all", _in_all(recipe), "volume wanted"),
    )  # fmt: skip


def _in_all(recipe: Recipe) -> str:
    volume_m3 = recipe.wanted.volume_m3
    return f"{volume_m3 * 1e6:.0f} mL, {recipe.density_kg_per_m3 * volume_m3 * 1e3:.1f} g"


def _properties(recipe: Recipe, alpha: Known, eps: Known) -> tuple[tuple[str, str, str], ...]:
    wanted = recipe.wanted
    celsius = wanted.temperature_k - ZERO_CELSIUS_K
    return (
        ("copper", show_quantity(wanted.copper_mol_per_m3, "mol/m3"), "wanted"),
        ("phosphoric acid", show_quantity(wanted.acid_mol_per_m3, "mol/m3"), "wanted"),
        ("dissolves at most", show_quantity(recipe.saturation_mol_per_m3, "mol/m3"),
         f"at {celsius:.3g} C, from memory (salt_handbook); less with acid"),
        ("density", f"{recipe.density_kg_per_m3:.0f} kg/m3", f"laliberte2009, at {celsius:.3g} C"),
        ("viscosity", _viscosity(recipe)[1], f"laliberte2009, at {celsius:.3g} C"),
        ("molar absorption, decadic", show_known(eps, "m2/mol"), "bath.toml, or the reading"),
        ("absorption, natural", show_known(alpha, "1/m"), "alpha_water + ln(10) eps c"),
        ("absorption length", show_known(absorption_length_m(alpha), "m"), "1/alpha"),
    )  # fmt: skip


def _viscosity(recipe: Recipe) -> tuple[float | None, str]:
    """Give the viscosity and its text; outside its source's range the text says so and nothing is guessed."""
    shares = {name: share for name, share in recipe.mass_shares.items() if share > 0.0}
    try:
        value = viscosity_pa_s(shares, temperature_k=recipe.wanted.temperature_k)
    except OutOfRange as error:
        return None, f"not known: {error}"
    return value, f"{1e3 * value:.2f} mPa s"
