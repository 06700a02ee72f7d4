"""List the quantities of bath.toml, each with its unit, its allowed range and the reason for it.

The bounds are common practice, no source.
"""

from typing import Final

from farface.files.tables import Entry

CONCENTRATION: Final = Entry(
    key="concentration", field="copper_mol_per_m3", dimension="mol/m3", unit="mol/L",
    low="0.001 mol/L", high="2 mol/L",
    why="less absorbs hardly more than water, and more does not stay dissolved at room temperature",
    about="copper in the bath",
)  # fmt: skip

WEIGHED: Final = Entry(
    key="weighed", field="", dimension="kg/m3", unit="g/L", low="0.1 g/L", high="500 g/L",
    why="less absorbs hardly more than water, and more does not stay dissolved at room temperature",
    about="salt in a litre of bath",
)  # fmt: skip

ACID: Final = Entry(
    key="acid", field="acid_mol_per_m3", dimension="mol/m3", unit="mol/L", low="0 mol/L", high="15 mol/L",
    why="it cannot be negative, and the strong acid that is sold has no more",
    about="phosphoric acid in the bath",
)  # fmt: skip

MOLAR_ABSORPTION: Final = Entry(
    key="molar_absorption", field="molar_absorption_m2_per_mol", dimension="m2/mol", unit="L/mol/cm",
    low="0.1 L/mol/cm", high="50 L/mol/cm",
    why="copper in water lies well inside that at every wavelength between red and near infrared",
    about="decadic, of copper, at the laser's wavelength",
)  # fmt: skip

ABSORPTION: Final = Entry(
    key="absorption", field="absorption_per_m", dimension="1/m", unit="1/cm", low="0.1 1/cm", high="500 1/cm",
    why="water alone has about 0.15 1/cm, and no copper bath comes near the upper end",
    about="natural coefficient of the whole bath; stands above the computed one",
)  # fmt: skip

VOLUME: Final = Entry(
    key="volume", field="volume_m3", dimension="m3", unit="mL", low="0.1 mL", high="100 L",
    why="smaller wets no plate, and larger is no bath of a bench",
    about="",
)  # fmt: skip

AGE: Final = Entry(
    key="age", field="age_s", dimension="s", unit="d", low="0 s", high="3650 d",
    why="it cannot be negative, and no bath is kept for ten years",
    about="since it was mixed",
)  # fmt: skip
