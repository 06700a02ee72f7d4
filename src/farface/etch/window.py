"""Map what happens over any two settings, with every other one fixed."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from farface.etch.axes import AXES, Axis, Case
from farface.etch.bench import EtchBench
from farface.etch.forecast import Forecast, forecast
from farface.kernel import OutOfRange
from farface.records import SEEN, Setting

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

    Raises `OutOfRange` for a name that is no axis, for two equal ones, or for two that say the same.
    """
    for name, _ in (x, y):
        if name not in AXES:
            raise OutOfRange(f'"{name}" is no setting of a window. Choose two of: {", ".join(AXES)}.')
    if x[0] == y[0]:
        raise OutOfRange(f'both axes are "{x[0]}". Choose two different settings of: {", ".join(AXES)}.')
    if {x[0], y[0]} == {"pitch", "speed"}:
        raise OutOfRange(
            "the axes are pitch and speed, but at one rate and number of pulses either follows from the "
            "other: speed is pitch x rate / pulses. Keep one of them, and choose another for the other axis."
        )
    start = Case(bench=bench, setting=around, draws=draws)
    cases = _cases(start, x, y)
    shape = (len(y[1]), len(x[1]))
    odds, bands = forecast_cases(cases, ("depth_per_pass_m", "margin"))
    depth_m, margin = bands.reshape(2, 3, *shape)
    return Window(
        x=AXES[x[0]], y=AXES[y[0]], x_values=tuple(x[1]), y_values=tuple(y[1]),
        settings=tuple(case.setting for case in cases), odds=odds.reshape(*shape, -1), depth_m=depth_m[1],
        depth_low_m=depth_m[0], depth_high_m=depth_m[2], margin=margin[1], margin_low=margin[0],
    )  # fmt: skip


def case_at(
    bench: EtchBench,
    around: Setting,
    draws: NDArray[np.float64],
    *,
    x: tuple[str, float],
    y: tuple[str, float],
) -> Case:
    """Return what stands behind one cell of a window, such as to explain it."""
    start = Case(bench=bench, setting=around, draws=draws)
    return _cases(start, (x[0], [x[1]]), (y[0], [y[1]]))[0]


def _cases(start: Case, x: tuple[str, Sequence[float]], y: tuple[str, Sequence[float]]) -> list[Case]:
    """Move along both axes, x first in the list: a bath once a value, and what follows from the rest last."""
    across, up = AXES[x[0]], AXES[y[0]]
    if across.turn <= up.turn:
        columns = [across.move(start, value) for value in x[1]]
        return [up.move(column, value) for value in y[1] for column in columns]
    rows = [up.move(start, value) for value in y[1]]
    return [across.move(row, value) for row in rows for value in x[1]]


def forecast_cases(
    cases: Sequence[Case], quantities: Sequence[str]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Forecast cases, those on one bench together: odds (case, outcome) and bands (quantity, 3, case).

    A band is low end, median and high end over the draws, `BAND`; ``quantities`` are of
    `farface.etch.forecast.QUANTITIES`.
    """
    odds, bands = np.empty((len(cases), len(SEEN))), np.empty((len(quantities), 3, len(cases)))
    for piece in _pieces(cases):
        case = cases[piece[0]]
        result = forecast(case.bench, [cases[i].setting for i in piece], case.draws)
        odds[piece] = result.odds.mean(axis=0)
        for i, name in enumerate(quantities):
            bands[i][:, piece] = band(result, name)
    return odds, bands


def _pieces(cases: Sequence[Case]) -> Iterator[list[int]]:
    """Yield the positions of cases on one bench, ``MOST_AT_ONCE`` at a time, like rates and foci together."""
    by_bench: dict[int, list[int]] = {}
    for i, case in enumerate(cases):
        by_bench.setdefault(id(case.bench), []).append(i)
    for together in by_bench.values():
        together.sort(key=lambda i: (cases[i].setting.rate_hz, cases[i].setting.focus_offset_m))
        for first in range(0, len(together), MOST_AT_ONCE):
            yield together[first : first + MOST_AT_ONCE]


def band(result: Forecast, name: str) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Return the low end, median and high end of a quantity over the draws, each of shape (setting,)."""
    by_setting = np.ascontiguousarray(result.quantity(name).T)
    low, median, high = np.quantile(by_setting, (BAND[0], 0.5, BAND[1]), axis=1)
    return low, median, high
