"""Map what happens over any two settings, with every other one fixed."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from farface.etch.axes import AXES, Axis, Case
from farface.etch.bench import EtchBench
from farface.etch.forecast import Forecast, forecast
from farface.kernel import OutOfRange
from farface.records import Setting

# The band shown beside every median: nine draws in ten lie within it.
BAND: Final = (0.05, 0.95)
# Settings forecast together: keeps a large map's memory small without losing what neighbours share.
MOST_AT_ONCE: Final = 600


@dataclass(frozen=True, slots=True, kw_only=True)
class Window:
    """Hold a map over two settings; all arrays have shape (y, x), odds (y, x, outcome) as in `SEEN`.

    Depth is per pass, its band `BAND` of the draws; ``margin_low`` is the margin that 95 % of the draws
    exceed. ``settings`` run along x first.
    """

    x: Axis
    y: Axis
    x_values: tuple[float, ...]
    y_values: tuple[float, ...]
    settings: tuple[Setting, ...]
    odds: NDArray[np.float64]
    depth_m: NDArray[np.float64]
    depth_low_m: NDArray[np.float64]
    depth_high_m: NDArray[np.float64]
    margin: NDArray[np.float64]
    margin_low: NDArray[np.float64]


def window(
    bench: EtchBench,
    around: Setting,
    draws: NDArray[np.float64],
    *,
    x: tuple[str, Sequence[float]],
    y: tuple[str, Sequence[float]],
) -> Window:
    """Forecast a grid of settings around one; ``x`` and ``y`` name axes of `AXES` and give SI values.

    Raises `OutOfRange` for a name that is no axis or for two equal ones.
    """
    for name, _ in (x, y):
        if name not in AXES:
            raise OutOfRange(f'"{name}" is no setting of a window. Choose two of: {", ".join(AXES)}.')
    if x[0] == y[0]:
        raise OutOfRange(f'both axes are "{x[0]}". Choose two different settings of: {", ".join(AXES)}.')
    across, up = AXES[x[0]], AXES[y[0]]
    start = Case(bench=bench, setting=around, draws=draws)
    cases = [across.move(up.move(start, v), u) for v in y[1] for u in x[1]]
    shape = (len(y[1]), len(x[1]))
    odds, bands = forecast_cases(cases, ("depth_per_pass_m", "margin"))
    depth_m, margin = bands.reshape(2, 3, *shape)
    return Window(
        x=across, y=up, x_values=tuple(x[1]), y_values=tuple(y[1]),
        settings=tuple(case.setting for case in cases), odds=odds.reshape(*shape, -1), depth_m=depth_m[1],
        depth_low_m=depth_m[0], depth_high_m=depth_m[2], margin=margin[1], margin_low=margin[0],
    )  # fmt: skip


def forecast_cases(
    cases: Sequence[Case], quantities: Sequence[str]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Forecast cases, those on one bench together: odds (case, outcome) and bands (quantity, 3, case).

    A band is low end, median and high end over the draws, `BAND`; ``quantities`` are of
    `farface.etch.forecast.QUANTITIES`.
    """
    odds, bands = [], []
    for start, end in _runs(cases):
        case = cases[start]
        result = forecast(case.bench, [c.setting for c in cases[start:end]], case.draws)
        odds.append(result.odds.mean(axis=0))
        bands.append(np.array([band(result, name) for name in quantities]))
    return np.concatenate(odds), np.concatenate(bands, axis=2)


def _runs(cases: Sequence[Case]) -> list[tuple[int, int]]:
    """Find the stretches of cases that share one bench, none longer than ``MOST_AT_ONCE``."""
    runs, start = [], 0
    for i in range(1, len(cases) + 1):
        if i == len(cases) or i - start == MOST_AT_ONCE or cases[i].bench is not cases[start].bench:
            runs.append((start, i))
            start = i
    return runs


def band(result: Forecast, name: str) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Return the low end, median and high end of a quantity over the draws, each of shape (setting,)."""
    by_setting = np.ascontiguousarray(result.quantity(name).T)
    low, median, high = np.quantile(by_setting, (BAND[0], 0.5, BAND[1]), axis=1)
    return low, median, high
