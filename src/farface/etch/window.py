"""Map what happens over any two settings, with every other one fixed."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from farface.etch.bench import EtchBench
from farface.etch.forecast import Forecast, forecast
from farface.kernel import OutOfRange
from farface.records import Setting


@dataclass(frozen=True, slots=True, kw_only=True)
class Axis:
    """Name a setting that a window can vary: its field in `Setting`, dimension, unit shown, and title."""

    field: str
    dimension: str
    unit: str
    title: str


AXES: Final = {
    axis.field: axis
    for axis in (
        Axis(field="pulse_energy_j", dimension="J", unit="uJ", title="pulse energy"),
        Axis(field="rate_hz", dimension="Hz", unit="kHz", title="repetition rate"),
        Axis(field="pulses_per_point", dimension="1", unit="", title="pulses per point"),
        Axis(field="pitch_m", dimension="m", unit="um", title="pitch"),
        Axis(field="passes", dimension="1", unit="", title="passes"),
        Axis(field="focus_offset_m", dimension="m", unit="um", title="focus below the far face"),
    )
}
WHOLE: Final = ("pulses_per_point", "passes")
# The band shown beside every median: nine draws in ten lie within it.
BAND: Final = (0.05, 0.95)


@dataclass(frozen=True, slots=True, kw_only=True)
class Window:
    """Hold a map over two settings; all arrays have shape (y, x), odds (y, x, outcome) as in `SEEN`.

    Depth is per pass, its band `BAND` of the draws; ``margin_low`` is the margin that 95 % of the draws
    exceed.
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
    """Forecast a grid of settings around one; ``x`` and ``y`` name fields of `AXES` and give SI values.

    Raises `OutOfRange` for a name that is no axis or for two equal ones. 13 us a cell and draw on 2 cores.
    """
    for name, _ in (x, y):
        if name not in AXES:
            raise OutOfRange(f'"{name}" is no setting of a window. Choose two of: {", ".join(AXES)}.')
    if x[0] == y[0]:
        raise OutOfRange(f'both axes are "{x[0]}". Choose two different settings of: {", ".join(AXES)}.')
    settings = tuple(_with(_with(around, x[0], u), y[0], v) for v in y[1] for u in x[1])
    result = forecast(bench, settings, draws)
    shape = (len(y[1]), len(x[1]))
    low, median, high = band(result, "depth_per_pass_m")
    margin_low, margin, _ = band(result, "margin")
    return Window(
        x=AXES[x[0]], y=AXES[y[0]], x_values=tuple(x[1]), y_values=tuple(y[1]), settings=settings,
        odds=result.odds.mean(axis=0).reshape(*shape, -1),
        depth_m=median.reshape(shape), depth_low_m=low.reshape(shape), depth_high_m=high.reshape(shape),
        margin=margin.reshape(shape), margin_low=margin_low.reshape(shape),
    )  # fmt: skip


def band(result: Forecast, name: str) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Return the low end, median and high end of a quantity over the draws, each of shape (setting,)."""
    low, median, high = np.quantile(result.quantity(name), (BAND[0], 0.5, BAND[1]), axis=0)
    return low, median, high


def _with(setting: Setting, field: str, value: float) -> Setting:
    changed: dict[str, Any] = {field: round(value) if field in WHOLE else value}
    return replace(setting, **changed)
