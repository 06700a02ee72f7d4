"""Measure a bubble's life and largest radius from its radius frame by frame."""

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numba import njit
from numpy.typing import NDArray

DEEP_DIP: Final = 0.82  # of the lesser of two peaks: a shallower dip between them is noise,
LEAST_DIP_PX: Final = 1.0  # and so is one by less than this
REBOUND: Final = 0.6  # of the first peak: what grows less again is the same bubble's rebound
HIGHEST_GUESS: Final = 1.25  # of the largest radius seen: the fitted peak is believed up to here


@dataclass(frozen=True, slots=True, kw_only=True)
class Life:
    """Hold a bubble's opening, its life and its largest radius."""

    opened_s: float
    life_s: float
    radius_max_m: float


def measure_life(times_s: NDArray[np.float64], radii_m: NDArray[np.float64], *, frame_s: float) -> Life:
    """Measure a life from radii at the middles of exposures, ``frame_s`` apart.

    From three frames up: Rayleigh's growth and collapse follow R = R_max (1 - ((2 t - T) / T)^2)^(2/5) to
    about 1 %, so R^(5/2) is a parabola in t; its roots are opening and collapse, held to the frame before
    the first and after the last that show the bubble, and its top is the largest radius between frames.
    Fewer frames, or radii that bend the other way: frames seen x ``frame_s``, wrong by up to one frame and
    typically by 0.4, and the largest radius seen. Leaves out the slower collapse near a wall
    [rayleigh1917].
    """
    first_s, last_s = float(times_s[0]), float(times_s[-1])
    largest = float(radii_m.max())
    counted = Life(opened_s=first_s - 0.5 * frame_s, life_s=last_s - first_s + frame_s, radius_max_m=largest)
    if times_s.size < 3:
        return counted
    centre_s, half_s, top = _parabola(times_s, (radii_m / largest) ** 2.5, (radii_m / largest) ** 1.5)
    if not first_s - frame_s < centre_s < last_s + frame_s:
        return counted
    opened_s = min(max(centre_s - half_s, first_s - frame_s), first_s)
    closed_s = max(min(centre_s + half_s, last_s + frame_s), last_s)
    inside = first_s < centre_s < last_s
    radius_max_m = largest * min(max(1.0, top**0.4), HIGHEST_GUESS) if inside else largest
    return Life(opened_s=opened_s, life_s=closed_s - opened_s, radius_max_m=radius_max_m)


@dataclass(frozen=True, slots=True, kw_only=True)
class Cycle:
    """Hold where in a run of radii a bubble lives, and where its rebounds follow."""

    life: slice
    rebounds: tuple[slice, ...] = ()


def cycles(radii_px: NDArray[np.float64]) -> tuple[Cycle, ...]:
    """Cut a run of radii where one bubble ends and the next opens in its place.

    A cut is a dip below both its neighbouring peaks, by `DEEP_DIP` and `LEAST_DIP_PX`, at its lowest
    frame. A later peak below `REBOUND` of the bubble's is its rebound.
    """
    cuts = [0]
    peak, lowest = 0, 0
    for k in range(radii_px.size):
        lesser = min(radii_px[peak], radii_px[k])
        if radii_px[k] > radii_px[peak] and lowest == peak:
            peak = lowest = k
        elif radii_px[k] < radii_px[lowest]:
            lowest = k
        elif radii_px[lowest] < min(DEEP_DIP * lesser, lesser - LEAST_DIP_PX):
            cuts.append(lowest + 1)
            peak = lowest = k
    pieces = [slice(a, b) for a, b in zip(cuts, [*cuts[1:], radii_px.size], strict=True)]
    kept = [Cycle(life=pieces[0])]
    for piece in pieces[1:]:
        last = kept[-1]
        if radii_px[piece].max() >= REBOUND * radii_px[last.life].max():
            kept.append(Cycle(life=piece))
        else:
            kept[-1] = Cycle(life=last.life, rebounds=(*last.rebounds, piece))
    return tuple(kept)


@njit(cache=True, nogil=True)
def _parabola(
    times_s: NDArray[np.float64], values: NDArray[np.float64], errors: NDArray[np.float64]
) -> tuple[float, float, float]:
    """Fit a parabola; return its middle, half the distance of its roots, and its top (NaN if it opens up)."""
    middle_s, span_s = times_s.mean(), times_s.max() - times_s.min()
    matrix, side = np.zeros((3, 3)), np.zeros(3)
    for k in range(times_s.size):
        x = (times_s[k] - middle_s) / span_s
        powers = np.array([1.0, x, x * x]) / errors[k]
        matrix += np.outer(powers, powers)
        side += powers * values[k] / errors[k]
    c, b, a = np.linalg.solve(matrix, side)
    if a >= 0.0:
        return math.nan, math.nan, math.nan
    top = c - b * b / (4.0 * a)
    return middle_s - span_s * b / (2.0 * a), span_s * math.sqrt(max(0.0, -top / a)), top
