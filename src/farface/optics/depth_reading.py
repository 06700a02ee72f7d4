"""Read a depth without a profiler: by the focus of a microscope, or by what the plate lost in weight."""

import math

import numpy as np
from numpy.typing import NDArray

from farface.kernel import Malformed, OutOfRange
from farface.records import Known

# What a bench's fine focus repeats to where it was read once. Common practice, no source.
REPEATS_TO_M = 3e-6


def focus_factors(*, index: float, aperture_sine: float) -> tuple[float, float]:
    """Return true depth over focus travel for the paraxial and the marginal rays of a dry lens.

    n, and sqrt((n^2 - NA^2) / (1 - NA^2)), where NA is the sine of the lens's steepest ray in air
    [galbraith1955]: looking through a medium of index n a floor seems nearer by this factor. 1 and 1 in air.
    """
    if not 0.0 <= aperture_sine < 1.0:
        raise OutOfRange(
            f"the lens's aperture is {aperture_sine:g}, but that of a dry lens lies between 0 and 1. Read it "
            "off the lens."
        )
    return index, math.sqrt((index**2 - aperture_sine**2) / (1.0 - aperture_sine**2))


def depth_by_focus(travels_m: NDArray[np.float64], *, index: float, aperture_sine: float) -> Known:
    """Turn repeated focus travels, shape (reading,), from rim to floor into a depth.

    The factor lies somewhere between the paraxial and the marginal one: its middle is taken, and a twelfth of
    the interval squared joins the variance of the mean travel. Leaves out that a rough floor has many foci.
    """
    if travels_m.size == 0 or not np.all(np.isfinite(travels_m)) or travels_m.mean() <= 0.0:
        raise Malformed(
            "there is no travel, or none from the rim down to the floor. Give one reading or more, above 0."
        )
    paraxial, marginal = focus_factors(index=index, aperture_sine=aperture_sine)
    mean_m = float(travels_m.mean())
    repeats_m = float(travels_m.std(ddof=1)) if travels_m.size > 1 else REPEATS_TO_M
    factor = 0.5 * (paraxial + marginal)
    of_factor_m = mean_m * (marginal - paraxial) / math.sqrt(12.0)
    sd_m = math.hypot(factor * repeats_m / math.sqrt(travels_m.size), of_factor_m)
    return Known(value=factor * mean_m, sd=sd_m, how="measured")


def depth_by_weight(loss_kg: Known, *, area_m2: float, density_kg_per_m3: float) -> Known:
    """Turn a loss of weight over an etched area into its mean depth, m / (rho A).

    Leaves out chips off the rim, and deposit that stayed on: wash and dry before each weighing.
    """
    if not loss_kg.value > 0.0 or not area_m2 > 0.0:
        raise Malformed(
            f"the plate lost {loss_kg.value * 1e6:.4g} mg over {area_m2 * 1e6:.4g} mm2, but both must be "
            "above 0. Weigh again, or correct the area."
        )
    scale = 1.0 / (density_kg_per_m3 * area_m2)
    return Known(value=loss_kg.value * scale, sd=loss_kg.sd * scale, how="measured")
