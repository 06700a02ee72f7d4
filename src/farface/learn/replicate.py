"""Run a coupon on the model itself: outcomes as one draw of the unknowns would give them.

The truth of calibration: what is replicated here is exactly what `farface.learn.likelihood` believes.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from farface.etch.bench import EtchBench
from farface.etch.forecast import forecast
from farface.learn.depth import depth_width
from farface.learn.plates import on_plate
from farface.learn.seen import misreading
from farface.records import SEEN, DepthReading, Outcome, Setting


def replicate(
    bench: EtchBench,
    settings: Sequence[Setting],
    draw: NDArray[np.float64],
    rng: np.random.Generator,
    *,
    plate: str = "A",
    offset: float = 0.0,
    sd_m: float = 2e-6,
) -> tuple[Outcome, ...]:
    """Draw one outcome for each setting; cells written down as steady get a depth read to ``sd_m``."""
    moved = on_plate(draw[None], np.array([offset]))
    ahead = forecast(bench, settings, moved, threads=1)
    odds = ahead.odds[0] @ misreading()
    median_m = ahead.quantity("depth_per_pass_m")[0]
    width = float(depth_width(draw[None])[0])
    outcomes = []
    for i, setting in enumerate(settings):
        seen = SEEN[rng.choice(len(SEEN), p=odds[i] / odds[i].sum())]
        depth_m = median_m[i] * np.exp(width * rng.standard_normal()) * setting.passes
        read_m = float(depth_m + sd_m * rng.standard_normal())
        outcomes.append(
            Outcome(
                plate=plate,
                cell=f"{i + 1}",
                order=i + 1,
                setting=setting,
                seen=seen,
                depth=DepthReading(depth_m=read_m, sd_m=sd_m, method="focus_travel")
                if seen == "steady"
                else None,
            )
        )
    return tuple(outcomes)
