"""Hold the fluence on the front face against what a clean glass surface bears."""

import math
from typing import Final, Literal

Standing = Literal["bears it", "a clean face bears it", "may be marked"]

# Handbook values for polished glass at 1064 nm and 10 ns, wide spots; small spots on clean faces bear several
# times as much, because they seldom meet a flaw [surface_damage]. From memory.
WIDE_SPOT_J_PER_M2: Final = 20e4
CLEAN_SPOT_J_PER_M2: Final = 100e4
_AT_PULSE_S: Final = 10e-9


def bearable_j_per_m2(pulse_s: float, *, clean: bool) -> float:
    """Give the peak fluence a front face bears, scaled by the square root of the pulse's length.

    The root holds for about 0.1 to 100 ns [surface_damage]; a guide, not a limit of any one glass.
    """
    at_ten_ns = CLEAN_SPOT_J_PER_M2 if clean else WIDE_SPOT_J_PER_M2
    return at_ten_ns * math.sqrt(pulse_s / _AT_PULSE_S)


def front_standing(front_j_per_m2: float, *, pulse_s: float) -> Standing:
    """Say where a fluence on the front face stands between the two guide values."""
    if front_j_per_m2 <= bearable_j_per_m2(pulse_s, clean=False):
        return "bears it"
    if front_j_per_m2 <= bearable_j_per_m2(pulse_s, clean=True):
        return "a clean face bears it"
    return "may be marked"
