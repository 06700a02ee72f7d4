"""Thin a pass's firing points to what a small picture can show."""

import math
from collections.abc import Callable
from typing import Final

import numpy as np
from numpy.typing import NDArray

from farface.report.svg import Point, way

Points = NDArray[np.float64]
At = Callable[[float, float], Point]

_HATCH_GAP_PX: Final = 4.0  # lines of a hatch are drawn at least this far apart
_FOLLOWED: Final = 400  # points drawn at most of a pass that follows a curve
_STRAIGHT: Final = 1e-6  # sine of the turn below which a point lies on a straight line


def sample_way(points: Points, px_per_m: float, at: At) -> str:
    """Write samples of a pass: every few of its straight lines, or the curve it follows with fewer points."""
    kept = corners_m(points)
    if len(kept) < 2:
        return ""
    if len(kept) > 0.5 * len(points) and len(points) > 8:
        chosen = kept[:: max(1, math.ceil(len(kept) / _FOLLOWED))]
        return way([at(float(x), float(y)) for x, y in chosen])
    pairs = kept[: len(kept) // 2 * 2].reshape(-1, 2, 2)
    gaps_px = np.linalg.norm(np.diff(pairs.mean(axis=1), axis=0), axis=1) * px_per_m
    gap_px = float(np.median(gaps_px)) if gaps_px.size else _HATCH_GAP_PX
    step = max(1, math.ceil(_HATCH_GAP_PX / max(gap_px, 1e-9)))
    return "".join(way([at(float(x), float(y)) for x, y in pair]) for pair in pairs[::step])


def corners_m(points: Points) -> Points:
    """Keep the points of a path, shape (n, 2), at which it turns, and its ends."""
    if len(points) < 3:
        return points
    steps = np.diff(points, axis=0)
    lengths = np.linalg.norm(steps, axis=1)
    ahead = steps[1:] / np.maximum(lengths[1:, None], 1e-30)
    behind = steps[:-1] / np.maximum(lengths[:-1, None], 1e-30)
    turn = np.abs(behind[:, 0] * ahead[:, 1] - behind[:, 1] * ahead[:, 0])
    back = (behind * ahead).sum(axis=1) < 0.0
    kept: Points = points[np.concatenate([[True], (turn > _STRAIGHT) | back, [True]])]
    return kept
