"""Hold published back-face etching of silica that gives fluence and depth a pulse, one row a set.

Read as abstracts: gallium at 1064 nm [zimmer2007], gallium on a fibre at 532 nm [vass2013], a silver film of
100 nm at 248 nm [hopp2007]. The absorptances of the metals are from memory and good to a third or so, so that
fluences are compared as absorbed ones.
"""

from dataclasses import dataclass
from typing import Final

_J_PER_M2: Final = 1e4
_M: Final = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class Published:
    """Hold one set: threshold, and depth a pulse at two fluences.

    ``low`` and ``high`` are a fluence and a depth as printed, in J/cm2 and nm.
    """

    name: str
    key: str
    absorbed_share: float
    threshold_j_per_m2: float
    low: tuple[float, float]
    high: tuple[float, float]

    @property
    def slope_m3_per_j(self) -> float:
        """Give the slope of depth a pulse over fluence."""
        return _M / _J_PER_M2 * (self.high[1] - self.low[1]) / (self.high[0] - self.low[0])

    @property
    def absorbed_j_per_m2(self) -> tuple[float, float]:
        """Give the ends of the set as absorbed fluence."""
        low, high = (self.absorbed_share * _J_PER_M2 * end[0] for end in (self.low, self.high))
        return low, high

    def depth_m(self, absorbed_j_per_m2: float) -> float | None:
        """Give the depth a pulse at an absorbed fluence, on the line between the ends; None beyond them."""
        low, high = self.absorbed_j_per_m2
        if not low <= absorbed_j_per_m2 <= high:
            return None
        share = (absorbed_j_per_m2 - low) / (high - low)
        return _M * (self.low[1] + share * (self.high[1] - self.low[1]))


SETS: Final = (
    Published(
        name="gallium, 18 ns", key="zimmer2007", absorbed_share=0.20,
        threshold_j_per_m2=3.0 * _J_PER_M2, low=(3.0, 0.0), high=(12.0, 350.0),
    ),
    Published(
        name="gallium, 73 ns", key="zimmer2007", absorbed_share=0.20,
        threshold_j_per_m2=7.0 * _J_PER_M2, low=(7.0, 0.0), high=(28.0, 300.0),
    ),
    Published(
        name="gallium on a fibre, 8 ns", key="vass2013", absorbed_share=0.25,
        threshold_j_per_m2=0.475 * _J_PER_M2, low=(0.475, 20.0), high=(1.06, 37.0),
    ),
    Published(
        name="silver film, 248 nm", key="hopp2007", absorbed_share=0.75,
        threshold_j_per_m2=0.2 * _J_PER_M2, low=(0.2, 0.0), high=(4.0, 600.0),
    ),
)  # fmt: skip
