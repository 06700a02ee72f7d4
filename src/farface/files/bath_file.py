"""Read and write bath.toml, the description of an absorbing bath."""

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Final, get_args

from farface.files.atomic import write_atomically
from farface.files.bath_keys import (
    ABSORPTION,
    ACID,
    AGE,
    CONCENTRATION,
    MOLAR_ABSORPTION,
    VOLUME,
    WEIGHED,
)
from farface.files.tables import Table, needed, read_tables
from farface.files.toml_text import heading, known_line, line, quantity_line, toml_string
from farface.kernel import Malformed, Missing, OutOfRange, parse_quantity, show_quantity
from farface.materials import absorber
from farface.records import Bath, Known, Salt

SALTS: Final[tuple[Salt, ...]] = get_args(Salt)

_ENTRIES: Final = (CONCENTRATION, WEIGHED, ACID, MOLAR_ABSORPTION, ABSORPTION, VOLUME, AGE)
_LAYOUT: Final = {"bath": ("name", "invented", "salt", *(entry.key for entry in _ENTRIES))}
_COPPER: Final = "copper_sulfate"


def read_bath(path: Path) -> Bath:
    """Read a bath; the copper is given as ``concentration`` or as ``weighed`` salt to the litre.

    A molar absorption that is not given is that of `farface.materials`, marked "assumed". Raises
    `Missing`, `Malformed` or `OutOfRange` with one sentence that names the file and the key.
    """
    return bath_from(read_tables(path, _LAYOUT), file=path.name)


def bath_from(tables: Mapping[str, Table], *, file: str) -> Bath:
    """Read a bath from its table, wherever it comes from; raises as `read_bath` does."""
    table = needed(tables, "bath", file=file)
    optional = {entry.field: table.quantity(entry) for entry in (VOLUME, AGE) if entry.key in table}
    salt = table.choice("salt", SALTS)
    return Bath(
        name=table.text("name"),
        invented=table.flag("invented"),
        salt=salt,
        copper_mol_per_m3=_read_copper(table, salt),
        acid_mol_per_m3=table.quantity(ACID) if ACID.key in table else 0.0,
        molar_absorption_m2_per_mol=_read_molar_absorption(table),
        absorption_per_m=table.known(ABSORPTION) if ABSORPTION.key in table else None,
        **optional,
    )


def write_bath(path: Path, bath: Bath) -> None:
    """Write a bath with a comment beside each key, so that `read_bath` gives back the very same record."""
    write_atomically(path, bath_text(bath).encode())


def bath_text(bath: Bath) -> str:
    """Give the text that `write_bath` writes; the copper stands in it as a concentration."""
    lines = [
        "# The bath: what was dissolved, how strongly it absorbs, how old it is.",
        *heading("bath"),
        line("name", toml_string(bath.name)),
        line("invented", str(bath.invented).lower(), "true if this bath does not exist"),
        line("salt", toml_string(bath.salt), f"as weighed: {' or '.join(SALTS)}"),
        quantity_line(CONCENTRATION, bath.copper_mol_per_m3),
        quantity_line(ACID, bath.acid_mol_per_m3),
        known_line(MOLAR_ABSORPTION, bath.molar_absorption_m2_per_mol),
    ]
    if bath.absorption_per_m is not None:
        lines.append(known_line(ABSORPTION, bath.absorption_per_m))
    lines += [quantity_line(VOLUME, bath.volume_m3), quantity_line(AGE, bath.age_s)]
    return "\n".join(lines) + "\n"


def _read_molar_absorption(table: Table) -> Known:
    if MOLAR_ABSORPTION.key in table:
        return table.known(MOLAR_ABSORPTION)
    return replace(absorber(_COPPER).molar_absorption_m2_per_mol, how="assumed")


def _read_copper(table: Table, salt: Salt) -> float:
    """Read the copper either way, but not both; weighed salt counts by its own molar mass."""
    concentration, weighed = CONCENTRATION.key in table, WEIGHED.key in table
    if concentration and weighed:
        raise Malformed(
            f"{table.file} gives both concentration and weighed in [bath], but wants one of the two. "
            "Remove the other."
        )
    if not (concentration or weighed):
        raise Missing(
            f'{table.file} does not say how much copper [bath] holds. Add concentration = "1 mol/L", or '
            'weighed = "250 g/L" for the salt in a litre of bath.'
        )
    return table.quantity(CONCENTRATION) if concentration else _dissolved(table, salt)


def _dissolved(table: Table, salt: Salt) -> float:
    """Convert weighed salt to a concentration, within the range that a concentration has."""
    copper_mol_per_m3 = table.quantity(WEIGHED) / absorber(_COPPER).molar_mass_kg_per_mol(salt)
    low, high = (parse_quantity(text, "mol/m3") for text in (CONCENTRATION.low, CONCENTRATION.high))
    if not low <= copper_mol_per_m3 <= high:
        shown = show_quantity(copper_mol_per_m3, "mol/m3")
        raise OutOfRange(
            f"{table.where(WEIGHED.key)} comes to {shown} of {salt}, but must lie between "
            f"{CONCENTRATION.low} and {CONCENTRATION.high}: {CONCENTRATION.why}. Correct it, or the salt."
        )
    return copper_mol_per_m3
