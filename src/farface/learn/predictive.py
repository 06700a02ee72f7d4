"""Predict what a cell will show, averaged over what is believed about the unknowns."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from farface.etch.bench import EtchBench
from farface.etch.forecast import Forecast, forecast
from farface.etch.outcome_odds import BROKEN, RUNAWAY, STEADY
from farface.learn.depth import LEAST_DEPTH_M, depth_width
from farface.learn.plates import in_order
from farface.records import Setting

# Standard normal numbers at the middles of nine equal parts, which stand for the scatter between cells.
_SCATTER: Final = (-1.5932, -0.9674, -0.5895, -0.2822, 0.0, 0.2822, 0.5895, 0.9674, 1.5932)


@dataclass(frozen=True, slots=True, kw_only=True)
class Prediction:
    """Hold what one more cell at a setting will show.

    ``odds`` stand in the order of `SEEN`. Depths are per pass, median and 90 % band over draws and cells,
    should the cell etch steadily. ``margin_low`` is exceeded by 95 % of the draws. ``failure_risk`` is the
    odds of runaway and breaking together.
    """

    setting: Setting
    odds: tuple[float, ...]
    depth_m: float
    depth_low_m: float
    depth_high_m: float
    margin: float
    margin_low: float
    failure_risk: float


def predict(
    bench: EtchBench, settings: Sequence[Setting], draws: NDArray[np.float64], *, threads: int = 2
) -> tuple[Prediction, ...]:
    """Predict each setting over draws of the unknowns, shape (draw, UNKNOWN_COUNT).

    For a plate that has not run yet pass the draws through `farface.learn.plates.on_next_plate` first.
    """
    ordered = in_order(settings)
    ahead = forecast(bench, ordered, draws, threads=threads)
    found = dict(zip(ordered, summarise(ordered, ahead, depth_width(draws)), strict=True))
    return tuple(found[setting] for setting in settings)


def summarise(
    settings: Sequence[Setting], ahead: Forecast, width: NDArray[np.float64]
) -> tuple[Prediction, ...]:
    """Average a forecast over its draws; ``width`` is each draw's scatter of depth, shape (draw,)."""
    odds = ahead.odds.mean(axis=0)
    log_depth = np.log(np.maximum(ahead.quantity("depth_per_pass_m"), LEAST_DEPTH_M))
    margin_low, margin = np.quantile(ahead.quantity("margin"), (0.05, 0.5), axis=0)
    predictions = []
    for i, setting in enumerate(settings):
        low, middle, high = _depth_band(log_depth[:, i], width, ahead.odds[:, i, STEADY])
        predictions.append(
            Prediction(
                setting=setting,
                odds=tuple(odds[i].tolist()),
                depth_m=middle,
                depth_low_m=low,
                depth_high_m=high,
                margin=float(margin[i]),
                margin_low=float(margin_low[i]),
                failure_risk=float(odds[i, RUNAWAY] + odds[i, BROKEN]),
            )
        )
    return tuple(predictions)


def _depth_band(
    log_depth: NDArray[np.float64], width: NDArray[np.float64], steady: NDArray[np.float64]
) -> tuple[float, float, float]:
    """Return 5 %, 50 % and 95 % of depth over draws and cells; draws weigh by their odds of steady."""
    spread = (log_depth[:, None] + width[:, None] * np.array(_SCATTER)).ravel()
    # The trace of weight keeps a band, that of all draws alike, where no draw etches steadily.
    weights = np.repeat(steady + 1e-9, len(_SCATTER))
    order = np.argsort(spread)
    sums = np.cumsum(weights[order])
    at = np.searchsorted(sums, np.array((0.05, 0.5, 0.95)) * sums[-1])
    low, middle, high = np.exp(spread[order][np.minimum(at, len(spread) - 1)])
    return float(low), float(middle), float(high)
