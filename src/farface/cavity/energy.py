"""Divide a cavity's energy at collapse between the shock wave and the cavity that rebounds."""


def shock_ratio(*, before_m: float, after_m: float) -> float:
    """Give energy lost in a collapse over energy kept by the rebound, from the largest radii about it.

    (R_before / R_after)^3 - 1, since a cavity's energy is dp times its volume [rayleigh1917]. Nearly all that
    is lost leaves as a shock wave [wen2023]. Leaves out the surface's energy: over 1 % below 150 um radius.
    """
    return float((before_m / after_m) ** 3 - 1.0)
