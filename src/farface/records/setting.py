"""A setting: what the person can choose for one run."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """Hold one choice of the knobs; points lie ``pitch_m`` apart along lines ``pitch_m`` apart.

    ``focus_offset_m`` is how far the focus lies below the far face (positive into the bath).
    """

    pulse_energy_j: float
    rate_hz: float
    pulses_per_point: int
    pitch_m: float
    passes: int
    focus_offset_m: float = 0.0
