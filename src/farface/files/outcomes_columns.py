"""List the columns of outcomes.csv; bounds are common practice, no source."""

from dataclasses import dataclass
from typing import Final

from farface.kernel import UNITS
from farface.records import DepthMethod


@dataclass(frozen=True, slots=True, kw_only=True)
class Measure:
    """Describe a column that holds a number in the unit that its name ends in."""

    name: str
    dimension: str
    unit: str
    low: float
    high: float

    @property
    def factor(self) -> float:
        """Give the SI value of one unit."""
        return UNITS[self.dimension][self.unit]


@dataclass(frozen=True, slots=True, kw_only=True)
class Count:
    """Describe a column that holds a whole number."""

    name: str
    low: int
    high: int


ORDER: Final = Count(name="order", low=0, high=1_000_000)
PULSE_ENERGY: Final = Measure(name="pulse_energy_uJ", dimension="J", unit="uJ", low=1e-3, high=1e7)
RATE: Final = Measure(name="rate_kHz", dimension="Hz", unit="kHz", low=1e-3, high=1e5)
PULSES_PER_POINT: Final = Count(name="pulses_per_point", low=1, high=1_000_000)
PITCH: Final = Measure(name="pitch_um", dimension="m", unit="um", low=0.1, high=1e5)
PASSES: Final = Count(name="passes", low=1, high=100_000)
FOCUS_OFFSET: Final = Measure(name="focus_offset_um", dimension="m", unit="um", low=-1e5, high=1e5)
DEPTH: Final = Measure(name="depth_um", dimension="m", unit="um", low=0.0, high=5e4)
DEPTH_SD: Final = Measure(name="depth_sd_um", dimension="m", unit="um", low=1e-3, high=5e4)
WHOLE_AFTER: Final = Count(name="whole_after_pass", low=0, high=100_000)
THROUGH_BY: Final = Count(name="through_by_pass", low=1, high=100_000)
SHEET: Final = Measure(name="sheet_um", dimension="m", unit="um", low=1.0, high=5e4)

GIVEN: Final = (
    "plate",
    "cell",
    "order",
    "pulse_energy_uJ",
    "rate_kHz",
    "pulses_per_point",
    "pitch_um",
    "passes",
)
FOUND: Final = ("seen", "depth_um", "depth_sd_um", "depth_method", "whole_after_pass", "through_by_pass")
COLUMNS: Final = (*GIVEN, *FOUND, "sheet_um", "note")
PHOTO: Final = "photo"
# A file may also say where the focus stood, on the far face without the column, and name photos beside it.
OPTIONAL: Final = (FOCUS_OFFSET.name, PHOTO)

# The standard deviation of a depth that comes without one; common practice, no source.
DEPTH_SD_M: Final[dict[DepthMethod, float]] = {
    "focus_travel": 5e-6,
    "section": 2e-6,
    "stylus": 0.5e-6,
    "weight_loss": 5e-6,
    "feel_at_least": 10e-6,
}
