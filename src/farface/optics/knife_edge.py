"""Find the spot radius from the power that passes a blade moved through the beam."""

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from farface.kernel import Malformed, NotConverged
from farface.optics.least_squares import fit_least_squares

_POINTS_MIN: Final = 6
_MISFIT_MOST: Final = 0.1  # of the whole power: beyond, the readings are no edge of one beam
# From the blade's position where 10 % passes to where 90 % does: 2 erfinv(0.8) / sqrt 2 in radii.
TEN_NINETY_PER_RADIUS: Final = 1.2815515655446004


@dataclass(frozen=True, slots=True, kw_only=True)
class KnifeFit:
    """Hold the 1/e2 radius along the blade's way, its sd, the beam's middle, and what the fit leaves.

    ``misfit`` is the root mean square difference as a share of the full power.
    """

    radius_m: float
    radius_sd_m: float
    middle_m: float
    full_w: float
    dark_w: float
    misfit: float


def passed_share(position_m: float, *, middle_m: float, radius_m: float) -> float:
    """Give the share that passes a blade from below: erfc(sqrt 2 (x - x0) / w) / 2, of a Gaussian beam."""
    return 0.5 * math.erfc(math.sqrt(2.0) * (position_m - middle_m) / radius_m)


def fit_knife_edge(*, positions_m: NDArray[np.float64], powers_w: NDArray[np.float64]) -> KnifeFit:
    """Fit P = dark + full erfc(+-sqrt 2 (x - x0) / w) / 2 to powers, shapes (point,) each [siegman1986].

    The blade may open or close the beam. Raises `Malformed` for fewer than six positions, `NotConverged`
    where the readings do not run from nearly all to nearly none. Leaves out that the blade's edge diffracts.
    """
    _check(positions_m, powers_w)
    from scipy.special import erfc

    order = np.argsort(positions_m)
    x, power = positions_m[order], powers_w[order]
    closes = bool(power[0] > power[-1])
    slope = math.sqrt(2.0) if closes else -math.sqrt(2.0)
    span_w, low_w = float(np.ptp(power)), float(power.min())
    first_m, unit_m = _first_guess(x, (power - low_w) / span_w, closes=closes)
    # Lengths from the first guess in units of its radius, powers in units of their span: all near one.
    at, share = (x - first_m) / unit_m, (power - low_w) / span_w

    def left(values: NDArray[np.float64]) -> NDArray[np.float64]:
        middle, log_radius, full, dark = values
        passed = np.asarray(erfc(slope * (at - middle) * np.exp(-log_radius)), dtype=np.float64)
        return np.asarray(dark + 0.5 * full * passed - share)

    fit = fit_least_squares(left, np.array([0.0, 0.0, 1.0, 0.0]), scale=np.ones(4))
    middle, log_radius, full, dark = fit.found.tolist()
    misfit = float(np.sqrt(np.mean(fit.left**2)) / abs(full))
    radius_m = unit_m * math.exp(log_radius)
    if misfit > _MISFIT_MOST or full <= 0.0 or radius_m > np.ptp(x):
        raise NotConverged(_NO_EDGE)
    return KnifeFit(
        radius_m=radius_m,
        radius_sd_m=radius_m * float(fit.errors_sd[1]),
        middle_m=first_m + unit_m * middle,
        full_w=span_w * full,
        dark_w=low_w + span_w * dark,
        misfit=misfit,
    )


_NO_EDGE: Final = (
    "the powers show no whole edge, but a blade must be moved from where all of the beam passes to where "
    "none does, in steps of a third of a radius or less (common practice). Measure on both sides of the "
    "middle."
)


def _check(positions_m: NDArray[np.float64], powers_w: NDArray[np.float64]) -> None:
    alike = positions_m.shape == powers_w.shape and np.unique(positions_m).size >= _POINTS_MIN
    if not alike or not np.all(np.isfinite(powers_w)) or not np.ptp(powers_w) > 0.0:
        raise Malformed(
            f"there are {positions_m.size} positions and {powers_w.size} powers, but a blade needs as "
            f"many of each, at {_POINTS_MIN} places or more (common practice), and powers that differ. "
            "Measure more."
        )


def _first_guess(x: NDArray[np.float64], share: NDArray[np.float64], *, closes: bool) -> tuple[float, float]:
    rising = 1.0 - share if closes else share
    low_m, middle_m, high_m = (float(x[int(np.argmax(rising >= level))]) for level in (0.1, 0.5, 0.9))
    step_m = float(np.ptp(x)) / (x.size - 1)
    return middle_m, max(high_m - low_m, step_m) / TEN_NINETY_PER_RADIUS
