"""Give the odds that a cell cracks: by the pulse itself, or by the heat that stays in the plate."""

import math
from typing import Final, NamedTuple

from numba import njit

# Spread of the fluence at which cells of one kind crack, from their flaws: a log-normal width. Assumed.
BREAKING_WIDTH: Final = 0.3
# Weibull modulus of handled glass [weibull_glass], and the area to which strengths refer.
WEIBULL_MODULUS: Final = 7.0
STRENGTH_AREA_M2: Final = 1e-4


class Plate(NamedTuple):
    """Hold what of the plate decides cracking; ``stress_pa_per_k`` is E a, Young's modulus x expansion."""

    stress_pa_per_k: float
    strength_pa: float
    thickness_m: float
    diffusivity_m2_per_s: float


@njit(cache=True, nogil=True, error_model="numpy")
def breaking_odds(
    fluence_j_per_m2: float,
    breaking_j_per_m2: float,
    rise_k: float,
    heated_s: float,
    side_m: float,
    plate: Plate,
) -> float:
    """Return the odds that a cell of side ``side_m`` cracks.

    A pulse above the breaking fluence cracks it outright (log-normal). Apart from that, a cell warmer than
    the plate around it by ``rise_k`` is pressed and its rim is pulled by E a dT / 2, less where heat has
    not yet reached through the plate; flaws in the rim give way after Weibull,
    1 - exp(-(A / A0) (sigma / sigma0)^m) [weibull1951]. Leaves out stress from fixing the plate, and
    cracks that grow slowly under water.
    """
    outright = 0.5 * math.erfc(
        -math.log(fluence_j_per_m2 / breaking_j_per_m2) / BREAKING_WIDTH / math.sqrt(2.0)
    )
    reached = min(1.0, math.sqrt(4.0 * plate.diffusivity_m2_per_s * heated_s) / plate.thickness_m)
    pull_pa = 0.5 * plate.stress_pa_per_k * rise_k * reached
    flaws = (side_m**2 / STRENGTH_AREA_M2) * (pull_pa / plate.strength_pa) ** WEIBULL_MODULUS
    return 1.0 - (1.0 - outright) * math.exp(-min(flaws, 700.0))
