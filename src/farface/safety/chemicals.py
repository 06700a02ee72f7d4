"""Hold the hazard statements of what the bath is made of and of what it gives off, with their standing.

The wording is that of the Globally Harmonized System. These lines remind; they do not replace the data
sheet of the person's own supplier, which may classify a product more strictly.
"""

from dataclasses import dataclass
from typing import Final, Literal

from farface.records import Bath

Standing = Literal["read", "from memory"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Statement:
    """Hold one hazard statement, whether its source was read, and that source's key."""

    text: str
    standing: Standing
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Chemical:
    """Describe one substance: registry number, where it meets the person, its hazard statements."""

    key: str
    name: str
    cas: str
    met_as: str
    statements: tuple[Statement, ...]


def _read(source: str, *texts: str) -> tuple[Statement, ...]:
    return tuple(Statement(text=text, standing="read", source=source) for text in texts)


def _remembered(*texts: str) -> tuple[Statement, ...]:
    return tuple(Statement(text=text, standing="from memory", source="clp_annex6") for text in texts)


# Cards of the ILO and WHO: [icsc1416] [icsc0751] [icsc1202] [icsc0074]; from memory: [clp_annex6];
# [phosphoric_sheets] are suppliers' data sheets.
CHEMICALS: Final[dict[str, Chemical]] = {
    chemical.key: chemical
    for chemical in (
        Chemical(
            key="copper_sulfate_pentahydrate",
            name="copper(II) sulfate pentahydrate",
            cas="7758-99-8",
            met_as="the blue salt that is weighed, and the bath",
            statements=_read(
                "icsc1416",
                "Harmful if swallowed",
                "Causes serious eye damage",
                "Very toxic to aquatic life with long lasting effects",
            ),
        ),
        Chemical(
            key="copper_sulfate_anhydrous",
            name="copper(II) sulfate, anhydrous",
            cas="7758-98-7",
            met_as="the pale salt that is weighed (it grows hot when wetted), and the bath",
            statements=(
                *_read(
                    "icsc0751",
                    "Harmful if swallowed",
                    "Causes skin and eye irritation",
                    "Very toxic to aquatic life with long lasting effects",
                ),
                # Once dissolved it is the same bath as the pentahydrate's, so the stricter line stands too.
                *_read("icsc1416", "Causes serious eye damage (as for the pentahydrate, once dissolved)"),
            ),
        ),
        Chemical(
            key="phosphoric_acid",
            name="phosphoric acid",
            cas="7664-38-2",
            met_as="the acid that is added to the bath",
            statements=(
                *_read(
                    "phosphoric_sheets", "Causes severe skin burns and eye damage", "Harmful if swallowed"
                ),
                *_remembered(
                    "May be corrosive to metals",
                    "Causes burns from 25 % by weight, irritates skin and eyes from 10 %",
                ),
            ),
        ),
        Chemical(
            key="sulfur_trioxide",
            name="sulfur trioxide",
            cas="7446-11-9",
            met_as="vapour where the heated sulfate decomposes; a mist of sulfuric acid in moist air",
            statements=(
                *_read("icsc1202", "Serious burns of skin, severe burns of eyes", "Avoid all contact"),
                *_remembered("May cause respiratory irritation"),
            ),
        ),
        Chemical(
            key="sulfur_dioxide",
            name="sulfur dioxide",
            cas="7446-09-5",
            met_as="gas where the sulfate is heated until it decomposes",
            statements=_read(
                "icsc0074", "Toxic if inhaled", "Causes eye irritation", "Causes damage to respiratory tract"
            ),
        ),
    )
}


def chemicals_of(bath: Bath) -> tuple[Chemical, ...]:
    """List the substances that a person at this bath may meet: what was dissolved, then what it gives off."""
    keys = [bath.salt]
    acid = ["phosphoric_acid"] if bath.acid_mol_per_m3 > 0.0 else []
    return tuple(CHEMICALS[key] for key in (*keys, *acid, "sulfur_trioxide", "sulfur_dioxide"))
