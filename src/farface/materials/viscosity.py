"""Compute the viscosity of a molten glass, and the temperature at which it softens."""

import math
from dataclasses import dataclass
from typing import Final

ZERO_CELSIUS_K: Final = 273.15
# The softening point is the temperature of this viscosity by definition. Much of the older literature
# writes it as 10^7.6 poise, which is dPa s: read as Pa s it puts borosilicate at 747 C, not 815 C.
SOFTENING_LOG10_PA_S: Final = 6.6


@dataclass(frozen=True, slots=True, kw_only=True)
class Viscosity:
    """Hold the curve log10(eta / Pa s) = a + b / (T - T0), with b and T0 in kelvin.

    The curve describes the melt between about the annealing range (10^12 Pa s) and the working range
    (10^3 Pa s); it says nothing of the solid.
    """

    a_log10_pa_s: float
    b_k: float
    t0_k: float
    source: str

    def viscosity_pa_s(self, temperature_k: float) -> float:
        """Give the viscosity at a temperature above T0; infinite at T0 and below."""
        if temperature_k <= self.t0_k:
            return math.inf
        return float(10.0 ** min(self.a_log10_pa_s + self.b_k / (temperature_k - self.t0_k), 300.0))

    def temperature_k(self, log10_pa_s: float) -> float:
        """Give the temperature of a viscosity: T = T0 + b / (log10 eta - a)."""
        return self.t0_k + self.b_k / (log10_pa_s - self.a_log10_pa_s)

    @property
    def softening_k(self) -> float:
        """Give the softening point, 10^6.6 Pa s."""
        return self.temperature_k(SOFTENING_LOG10_PA_S)
