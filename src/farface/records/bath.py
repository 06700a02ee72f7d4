"""The bath: what was dissolved, how strongly it absorbs, how old it is."""

from dataclasses import dataclass
from typing import Literal

from farface.records.known import Known

Salt = Literal["copper_sulfate_pentahydrate", "copper_sulfate_anhydrous"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Bath:
    """Describe an absorbing bath of copper sulfate, with or without phosphoric acid.

    ``molar_absorption_m2_per_mol`` is decadic; ``absorption_per_m`` is the natural coefficient that a
    cuvette or power-meter reading gave and, when present, stands above the computed one.
    """

    name: str
    invented: bool
    salt: Salt
    copper_mol_per_m3: float
    acid_mol_per_m3: float
    molar_absorption_m2_per_mol: Known
    absorption_per_m: Known | None = None
    volume_m3: float = 1e-4
    age_s: float = 0.0
