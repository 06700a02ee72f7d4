"""Read the TOML files of glasses, liquids and absorbers into frozen records."""

import tomllib
from functools import cache
from importlib.resources import files
from typing import Any, Final, TypeVar

from pydantic import ValidationError

from farface.kernel import Malformed, Missing
from farface.materials.absorber import Absorber
from farface.materials.dispersion import Dispersion
from farface.materials.schema import (
    AbsorberFile,
    Check,
    GlassFile,
    Index,
    LiquidFile,
    Melt,
    Part,
    SubstanceFile,
    Value,
)
from farface.materials.sourced import Provenance
from farface.materials.spectral import Spectrum
from farface.materials.substance import Glass, Liquid
from farface.materials.viscosity import Viscosity
from farface.records import Known

_DATA = files("farface.materials") / "data"
# Two lists of softening points of one kind of glass differ by a few kelvin; a curve in dPa s read as one in
# Pa s misses by fifty and more.
_SOFTENING_APART_MAX_K: Final = 25.0

PartT = TypeVar("PartT", bound=Part)


@cache
def glass(name: str) -> Glass:
    """Read the glass of that name; `Missing` names those that exist."""
    return read_glass(name, _text("glasses", name))


@cache
def liquid(name: str) -> Liquid:
    """Read the liquid of that name; `Missing` names those that exist."""
    return read_liquid(name, _text("liquids", name))


@cache
def absorber(name: str) -> Absorber:
    """Read the solute of that name; `Missing` names those that exist."""
    return read_absorber(name, _text("absorbers", name))


def glass_names() -> tuple[str, ...]:
    """Name every glass that has a file."""
    return _names("glasses")


def liquid_names() -> tuple[str, ...]:
    """Name every liquid that has a file."""
    return _names("liquids")


def absorber_names() -> tuple[str, ...]:
    """Name every solute that has a file."""
    return _names("absorbers")


def checks(folder: str, name: str) -> tuple[Check, ...]:
    """Read the check values of a file in ``folder``: "glasses", "liquids" or "absorbers"."""
    return _KINDS[folder].model_validate(tomllib.loads(_text(folder, name))).checks


def read_glass(name: str, text: str) -> Glass:
    """Read a glass from TOML text; `Malformed` names the key that is unknown, absent or out of bounds."""
    file = _parse(GlassFile, name, text)
    melt = _viscosity(file.viscosity) if file.viscosity else None
    if melt and abs(melt.softening_k - file.softening_k.value) > _SOFTENING_APART_MAX_K:
        raise Malformed(
            f"viscosity of {name} puts its softening point at {melt.softening_k:.0f} K, but softening_k says "
            f"{file.softening_k.value:.0f} K and they may differ by {_SOFTENING_APART_MAX_K:.0f} K. Give the "
            "curve in Pa s: one in dPa s (poise) has an a_log10_pa_s that is 1 too large."
        )
    return Glass(viscosity=melt, **_substance(file, name))


def read_liquid(name: str, text: str) -> Liquid:
    """Read a liquid from TOML text; `Malformed` names the key that is unknown, absent or out of bounds."""
    return Liquid(**_substance(_parse(LiquidFile, name, text), name))


def read_absorber(name: str, text: str) -> Absorber:
    """Read a solute from TOML text; `Malformed` names the key that is unknown, absent or out of bounds."""
    file = _parse(AbsorberFile, name, text)
    absorbing, forms = file.molar_absorption_m2_per_mol, file.molar_mass_kg_per_mol
    return Absorber(
        name=name,
        title=file.title,
        provenance=_provenance(file) | {form: _from(value) for form, value in forms.items()},
        molar_masses_kg_per_mol={form: value.value for form, value in forms.items()},
        molar_absorption_m2_per_mol=Known(value=absorbing.value, sd=absorbing.sd, how="stated"),
        range_m=absorbing.range_m,
        solubility_mol_per_m3=file.solubility_mol_per_m3.value,
    )


_KINDS: Final[dict[str, type[GlassFile | LiquidFile | AbsorberFile]]] = {
    "glasses": GlassFile,
    "liquids": LiquidFile,
    "absorbers": AbsorberFile,
}


def _substance(file: SubstanceFile, name: str) -> dict[str, Any]:
    values = {field: getattr(file, field) for field in type(file).model_fields}
    numbers = {field: value.value for field, value in values.items() if isinstance(value, Value)}
    return numbers | {
        "name": name,
        "title": file.title,
        "provenance": _provenance(file),
        "refraction": _dispersion(file.index),
        "absorption": _spectrum(file),
    }


def _dispersion(index: Index) -> Dispersion:
    return Dispersion(
        formula=index.formula,
        coefficients=index.coefficients,
        range_m=index.range_m,
        sd=index.sd,
        source=index.source,
    )


def _spectrum(file: SubstanceFile) -> Spectrum:
    return Spectrum(
        wavelengths_m=file.absorption.wavelengths_m,
        absorptions_per_m=file.absorption.absorptions_per_m,
        sd_share=file.absorption.sd_share,
        source=file.absorption.source,
    )


def _viscosity(melt: Melt) -> Viscosity:
    return Viscosity(a_log10_pa_s=melt.a_log10_pa_s, b_k=melt.b_k, t0_k=melt.t0_k, source=melt.source)


def _provenance(file: Part) -> dict[str, Provenance]:
    values = {field: getattr(file, field) for field in type(file).model_fields}
    return {field: _from(value) for field, value in values.items() if hasattr(value, "source")}


def _from(part: Any) -> Provenance:
    return Provenance(source=part.source, sd=getattr(part, "sd", 0.0), holds=getattr(part, "holds", ""))


def _parse(kind: type[PartT], name: str, text: str) -> PartT:
    try:
        return kind.model_validate(tomllib.loads(text))
    except tomllib.TOMLDecodeError as error:
        raise Malformed(f"{name} is no TOML file: {error}. Correct that place.") from error
    except ValidationError as error:
        raise Malformed(_first_fault(error, name)) from error


def _first_fault(error: ValidationError, name: str) -> str:
    # A key under a wrong name is both unknown and absent: say what stands there first.
    fault = min(error.errors(), key=lambda each: each["type"] != "extra_forbidden")
    key = ".".join(str(part) for part in fault["loc"])
    if fault["type"] == "extra_forbidden":
        return (
            f'{name} has an unknown key "{key}". Remove it, or give it a name that docs/materials.md lists.'
        )
    if fault["type"] == "missing":
        return f'{name} lacks the key "{key}", which docs/materials.md lists. Add it with its source.'
    return f'{name} has a wrong value at "{key}": {fault["msg"]}. Correct it as docs/materials.md says.'


def _text(folder: str, name: str) -> str:
    names = _names(folder)
    if name not in names:
        raise Missing(f'"{name}" is none of the {folder}, which are {", ".join(names)}. Choose one of them.')
    return (_DATA / folder / f"{name}.toml").read_text(encoding="utf-8")


@cache
def _names(folder: str) -> tuple[str, ...]:
    found = (entry.name for entry in (_DATA / folder).iterdir())
    return tuple(sorted(name.removesuffix(".toml") for name in found if name.endswith(".toml")))
