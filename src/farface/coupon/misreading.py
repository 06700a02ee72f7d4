"""Report a cell of the virtual bench as a person would: classes misread now and then, depths with errors."""

import numpy as np

from farface.coupon.hidden_truth import HiddenTruth, ReadingError
from farface.records import SEEN, DepthReading, Seen

# A person writes depths to a tenth of a micrometre, and none below it.
_WRITTEN_M = 1e-7


def misread_class(seen: Seen, truth: HiddenTruth, rng: np.random.Generator) -> Seen:
    """Report a class, with a small risk as its neighbour in the order of `SEEN`."""
    missed, upward = rng.random() < truth.misread_risk, rng.random() < 0.5
    if not missed:
        return seen
    index = SEEN.index(seen)
    neighbours = [i for i in (index - 1, index + 1) if 0 <= i < len(SEEN)]
    return SEEN[neighbours[-1] if upward else neighbours[0]]


def read_depth(depth_m: float, truth: HiddenTruth, rng: np.random.Generator) -> DepthReading:
    """Read a depth by a method drawn from the truth's, with that method's errors."""
    shares = np.array([reading.picked_share for reading in truth.readings])
    by: ReadingError = truth.readings[int(rng.choice(len(shares), p=shares / shares.sum()))]
    sd_m = by.sd_m + by.sd_share * depth_m
    read_m = depth_m * (1.0 + by.bias_share) + sd_m * rng.standard_normal()
    return DepthReading(depth_m=_written(read_m), sd_m=_written(sd_m), method=by.method)


def _written(value_m: float) -> float:
    return max(1, round(value_m / _WRITTEN_M)) * _WRITTEN_M
