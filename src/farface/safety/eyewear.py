"""Hold the density on a person's eyewear against the one that an exposure asks for, and refuse too little."""

import math

from farface.kernel import OutOfRange, Refused
from farface.safety.beam import EyewearDensity
from farface.safety.exposure import TrainLimit

_DENSITY_MOST = 15.0  # no label says more: beyond that the frame leaks


def require_density(label_optical_density: float, *, needed: EyewearDensity, limit: TrainLimit) -> None:
    """Refuse eyewear whose label says less than the estimate asks for; meeting it is no clearance.

    Raises `OutOfRange` for a density that no label says, `Refused` for one that is too low.
    """
    if not math.isfinite(label_optical_density) or not 0.0 <= label_optical_density <= _DENSITY_MOST:
        raise OutOfRange(
            f"the eyewear's optical density is {label_optical_density:g}, but labels say between 0 and "
            f"{_DENSITY_MOST:g} (common practice). Read the label at this wavelength again."
        )
    if label_optical_density < needed.optical_density:
        raise Refused(
            f"the eyewear's optical density is {label_optical_density:g}, but a pulse of "
            f"{needed.exposure_j_per_m2:.3g} J/m2 over a pupil against a limit of "
            f"{needed.limit_j_per_m2:.3g} J/m2 ({limit.table}) asks for {needed.optical_density:.1f} or "
            "more, by estimate. Do not fire: get eyewear marked for this wavelength, these pulses and at "
            "least that density, and ask the responsible laser safety officer."
        )
