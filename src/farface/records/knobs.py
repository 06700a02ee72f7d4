"""What a person can turn: the fields of a setting, with the words and units in which they are told."""

from dataclasses import dataclass
from typing import Final, Literal

from farface.kernel import show_quantity


@dataclass(frozen=True, slots=True, kw_only=True)
class Knob:
    """Describe one field of `Setting`; ``even_in`` says on what scale its values are spread evenly.

    ``name`` is how a person types it, ``words`` how it is told, ``unit`` the one its axis is drawn in.
    """

    field: str
    name: str
    words: str
    dimension: str
    unit: str
    even_in: Literal["ratio", "difference"] = "ratio"

    @property
    def whole(self) -> bool:
        """Say whether only whole numbers make sense."""
        return self.dimension == "1"

    def shown(self, value: float) -> str:
        """Write a value as a person reads it."""
        return f"{value:g}" if self.whole else show_quantity(value, self.dimension)


KNOBS: Final[dict[str, Knob]] = {
    knob.field: knob
    for knob in (
        Knob(field="pulse_energy_j", name="energy", words="pulse energy", dimension="J", unit="uJ"),
        Knob(field="rate_hz", name="rate", words="repetition rate", dimension="Hz", unit="kHz"),
        Knob(field="pulses_per_point", name="pulses", words="pulses per point", dimension="1", unit=""),
        Knob(field="pitch_m", name="pitch", words="pitch", dimension="m", unit="um"),
        Knob(field="passes", name="passes", words="passes", dimension="1", unit=""),
        Knob(
            field="focus_offset_m", name="focus", words="focus offset", dimension="m", unit="um",
            even_in="difference",
        ),
    )
}  # fmt: skip
