"""Flatten the lines, arcs and splines of a DXF drawing to straight steps on the plate.

A chord leaves an arc by at most r (step)^2 / 8, with r no smaller than either half axis. A spline's steps are
halved, in every span alike, until the middle of each lies within the error of its chord.
"""

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from farface.files.outline import CHORD_ERROR_M, LARGEST_M, Points
from farface.kernel import OutOfRange

# Steps of one spline beyond which no drawing of a plate needs more.
MOST_STEPS: Final = 1_000_000

_Rows = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Steps:
    """Hold straight steps through ``corners``, shape (corners, 3), in the drawing's unit."""

    corners: Any


@dataclass(frozen=True, slots=True, kw_only=True)
class Arc:
    """Hold an elliptic arc, middle + cos(t) right + sin(t) up for t from ``first_rad`` over ``sweep_rad``."""

    middle: Any
    right: Any
    up: Any
    first_rad: float
    sweep_rad: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Spline:
    """Hold a rational B-spline; ``controls`` have shape (controls, 3), in the drawing's unit."""

    degree: int
    knots: Any
    controls: Any
    weights: Any


Curve = Steps | Arc | Spline


def steps_m(curve: Curve, to_plate: Any) -> Points:
    """Return the vertices of a curve on the plate, shape (vertices, 2).

    ``to_plate`` takes rows (x, y, z, 1) in the drawing's unit to (x, y, z) in metres, shape (4, 3). Raises
    `OutOfRange` for a point beyond a metre, one that is no number, or one that is not at z = 0.
    """
    with np.errstate(all="ignore"):
        if isinstance(curve, Steps):
            return _on_plate(_placed(curve.corners, to_plate))
        return _on_plate(_arc(curve, to_plate) if isinstance(curve, Arc) else _spline(curve, to_plate))


def _placed(rows: Any, to_plate: Any) -> _Rows:
    rows = np.asarray(rows, dtype=np.float64).reshape(-1, 3)
    placed: _Rows = rows @ to_plate[:3] + to_plate[3]
    return placed


def _on_plate(placed_m: _Rows) -> Points:
    if not np.all(np.abs(placed_m[:, :2]) <= LARGEST_M):  # not so for NaN
        raise OutOfRange(
            f"the drawing has a point farther than {LARGEST_M:.0f} m from its origin, or no number for one."
            " Check its units and where its origin lies."
        )
    if not np.all(np.abs(placed_m[:, 2]) <= CHORD_ERROR_M):
        raise OutOfRange("the drawing has a point that is not at z = 0. Flatten it to the plane z = 0.")
    return placed_m[:, :2]


def _arc(arc: Arc, to_plate: Any) -> _Rows:
    axes = np.array([arc.right, arc.up], dtype=np.float64) @ to_plate[:3]
    radius_m = float(np.linalg.norm(axes))
    if not radius_m * abs(arc.sweep_rad) <= 100.0 * LARGEST_M:
        raise OutOfRange(
            f"the drawing has an arc far longer than {LARGEST_M:.0f} m, or no number for its size."
            " Check the drawing's units."
        )
    n = max(1, int(np.ceil(abs(arc.sweep_rad) * np.sqrt(radius_m / (8.0 * CHORD_ERROR_M)))))
    angle = (arc.first_rad + arc.sweep_rad * np.linspace(0.0, 1.0, n + 1))[:, None]
    placed: _Rows = _placed(arc.middle, to_plate) + np.cos(angle) * axes[0] + np.sin(angle) * axes[1]
    return placed


def _spline(spline: Spline, to_plate: Any) -> _Rows:
    from scipy.interpolate import BSpline

    controls_m = _placed(spline.controls, to_plate)
    _on_plate(controls_m)
    weights = np.asarray(spline.weights, dtype=np.float64)[:, None]
    curve = BSpline(spline.knots, np.hstack((controls_m * weights, weights)), spline.degree)
    spans = np.unique(np.asarray(spline.knots)[spline.degree : len(controls_m) + 1])
    each = 4
    while True:
        inner = spans[:-1, None] + np.diff(spans)[:, None] * (np.arange(2 * each) / (2 * each))
        homogeneous = curve(np.append(inner.ravel(), spans[-1]))
        at = homogeneous[:, :3] / homogeneous[:, 3:]
        off_m = np.linalg.norm(at[1::2] - 0.5 * (at[:-1:2] + at[2::2]), axis=1).max(initial=0.0)
        if off_m <= CHORD_ERROR_M:
            return np.asarray(at[::2])
        each *= 2
        if not each * len(spans) <= MOST_STEPS:
            raise OutOfRange("the drawing has a spline of too many steps. Convert it to a polyline.")
