"""Hold what the window map shows: odds, depth and margin over any two settings."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from farface.kernel import Malformed
from farface.records import SEEN, Seen


@dataclass(frozen=True, slots=True, kw_only=True)
class WindowAxis:
    """Hold one setting's name, the unit the person reads, and its rising values in that unit."""

    name: str
    unit: str
    values: tuple[float, ...]

    @property
    def words(self) -> str:
        """Write name and unit."""
        return f"{self.name}, {self.unit}" if self.unit else self.name


@dataclass(frozen=True, slots=True, kw_only=True)
class ChosenPoint:
    """Hold a setting worth a mark on the map, in the units of its axes."""

    x: float
    y: float
    label: str


@dataclass(frozen=True, slots=True, kw_only=True)
class WindowView:
    """Hold one window: arrays of shape (ny, nx), ``odds`` (ny, nx, 6) in the order of `SEEN`.

    Depths are per pass: median and the ends of the 90 % band. ``margin`` is the fluence of runaway over the
    fluence used: below 1 runs away; not a number where none was found.
    """

    title: str
    invented: bool
    calibrated: bool
    x: WindowAxis
    y: WindowAxis
    odds: NDArray[np.float64]
    depth_median_m: NDArray[np.float64]
    depth_low_m: NDArray[np.float64]
    depth_high_m: NDArray[np.float64]
    margin: NDArray[np.float64]
    points: tuple[ChosenPoint, ...] = ()


STEADY = SEEN.index("steady")


def checked(view: WindowView) -> WindowView:
    """Refuse arrays whose shapes do not match the axes, axes that do not rise, and odds that are no odds."""
    shape = (len(view.y.values), len(view.x.values))
    if min(shape) < 2 or any(np.any(np.diff(axis.values) <= 0.0) for axis in (view.x, view.y)):
        raise Malformed("a window needs two or more rising values on each axis. Give other values.")
    for name in ("depth_median_m", "depth_low_m", "depth_high_m", "margin"):
        if getattr(view, name).shape != shape:
            raise Malformed(f"{name} has shape {getattr(view, name).shape}, but the axes give {shape}.")
    if view.odds.shape != (*shape, len(SEEN)):
        raise Malformed(
            f"odds have shape {view.odds.shape}, but axes and outcomes give {(*shape, len(SEEN))}."
        )
    if not (np.isfinite(view.odds).all() and np.all(view.odds >= -1e-9) and np.all(view.odds <= 1.0 + 1e-9)):
        raise Malformed("odds lie outside 0 to 1 or are not finite. Compute the window again.")
    return view


def likeliest(view: WindowView) -> NDArray[np.int64]:
    """Give the index in `SEEN` of each cell's most likely outcome, shape (ny, nx)."""
    indices: NDArray[np.int64] = np.argmax(view.odds, axis=2).astype(np.int64)
    return indices


def seen_at(index: int) -> Seen:
    """Give the outcome of an index."""
    return SEEN[index]


def best_cell(view: WindowView) -> tuple[int, int]:
    """Give row and column of the highest odds of steady etching."""
    row, column = np.unravel_index(int(np.argmax(view.odds[:, :, STEADY])), view.odds.shape[:2])
    return int(row), int(column)
