"""Published back-face etching of silica that gives fluence and depth a pulse, one row a set.

Sources, read as abstracts: Zimmer et al., Appl. Phys. A 86 (2007) 409 (gallium, 1064 nm); Vass et al., Appl.
Surf. Sci. 278 (2013) 241 (gallium on a fibre, 532 nm); Hopp et al., Appl. Surf. Sci. 253 (2007) 7922 (silver
film, 100 nm, at 248 nm). The absorptances of the metals are from memory and good to a third or so.
"""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Published:
    """Hold one set: threshold, and depth a pulse at two fluences (nm and J/cm2, as printed)."""

    name: str
    key: str
    absorptance: float
    threshold_j_per_cm2: float
    low: tuple[float, float]
    high: tuple[float, float]

    @property
    def slope_nm_per_j_per_cm2(self) -> float:
        """Give the slope of depth a pulse over fluence."""
        return (self.high[1] - self.low[1]) / (self.high[0] - self.low[0])


SETS = (
    Published(
        name="gallium, 18 ns", key="zimmer2007", absorptance=0.20, threshold_j_per_cm2=3.0,
        low=(3.0, 0.0), high=(12.0, 350.0),
    ),
    Published(
        name="gallium, 73 ns", key="zimmer2007", absorptance=0.20, threshold_j_per_cm2=7.0,
        low=(7.0, 0.0), high=(28.0, 300.0),
    ),
    Published(
        name="gallium on a fibre, 8 ns", key="vass2013", absorptance=0.25, threshold_j_per_cm2=0.475,
        low=(0.475, 20.0), high=(1.06, 37.0),
    ),
    Published(
        name="silver film, 248 nm", key="hopp2007", absorptance=0.75, threshold_j_per_cm2=0.2,
        low=(0.2, 0.0), high=(4.0, 600.0),
    ),
)  # fmt: skip
