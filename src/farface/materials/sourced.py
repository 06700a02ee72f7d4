"""Keep beside every number of a material where it comes from and how well it is known."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from farface.kernel import Missing
from farface.records import Known


@dataclass(frozen=True, slots=True, kw_only=True)
class Provenance:
    """Name a number's source key, its standard deviation in the number's own unit, and where it holds."""

    source: str
    sd: float = 0.0
    holds: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sourced:
    """Carry a name, a title a person reads, and the provenance of every field."""

    name: str
    title: str
    provenance: Mapping[str, Provenance]

    def source(self, field: str) -> str:
        """Name the source key of a field, such as ``"density_kg_per_m3"``, ``"index"`` or ``"absorption"``.

        Raises `Missing` for a field without a source, naming those that have one.
        """
        return self._provenance(field).source

    def holds(self, field: str) -> str:
        """Say where the value of a field holds, as its source puts it, such as ``"20 C"``."""
        return self._provenance(field).holds

    def known(self, field: str) -> Known:
        """Give the number of a field together with its standard deviation."""
        provenance = self._provenance(field)
        value: Any = getattr(self, field, None)
        if not isinstance(value, float):
            raise Missing(f"{field} of {self.name} is no single number. Ask for its value at a wavelength.")
        return Known(value=value, sd=provenance.sd, how="stated")

    def _provenance(self, field: str) -> Provenance:
        if field not in self.provenance:
            fields = ", ".join(sorted(self.provenance))
            raise Missing(f'{self.name} has no field "{field}" with a source. It has {fields}.')
        return self.provenance[field]
