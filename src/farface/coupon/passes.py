"""Turn a coupon into passes: its cells in their turns, then the labels beside them."""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from farface.coupon.layout import CellShape, Coupon, TrialCell, label_strokes_m
from farface.records import Pass, Setting

LABELS = "labels"


def coupon_passes(coupon: Coupon, *, engraving: Setting, index: float) -> tuple[Pass, ...]:
    """List every pass in order of firing: cell after cell with all its passes, and last the labels.

    Labels are engraved with the setting ``engraving``, after the cells so that they warm none of them.
    ``index`` is the glass's: the lens stands back by 1 / index of what the focus lies inside the glass. The
    lens does not follow a cell's rising floor, which a trial cell is too shallow to need.
    """
    fired = [(cell.label, cell.setting, cell_points_m(cell, coupon.shape)) for cell in coupon.in_run_order()]
    fired.append((LABELS, engraving, label_points_m(coupon, pitch_m=engraving.pitch_m)))
    passes: list[Pass] = []
    for shape, setting, points_m in fired:
        once = replace(setting, passes=1)
        passes += [
            Pass(
                number=len(passes) + 1 + turn,
                shape=shape,
                kind="line" if shape == LABELS or coupon.shape == "line" else "pocket",
                setting=once,
                points_m=points_m,
                focus_drop_m=0.0 - setting.focus_offset_m / index,
            )
            for turn in range(setting.passes)
        ]
    return tuple(passes)


def cell_points_m(cell: TrialCell, shape: CellShape) -> NDArray[np.float64]:
    """List a cell's points, shape (points, 2), line after line from the bottom, each from left to right.

    Lines and points lie a pitch apart, centred on the cell; a round cell keeps those within its circle.
    """
    pitch_m = cell.setting.pitch_m
    count = int((cell.size_m + 1e-9) / pitch_m) + 1
    along_m = (np.arange(count) - 0.5 * (count - 1)) * pitch_m
    y_m, x_m = np.meshgrid(np.zeros(1) if shape == "line" else along_m, along_m, indexing="ij")
    points_m = np.column_stack((x_m.ravel(), y_m.ravel()))
    if shape == "round":
        points_m = points_m[np.hypot(*points_m.T) <= 0.5 * cell.size_m + 1e-9]
    return np.asarray(points_m + np.array([cell.x_m, cell.y_m]))


def label_points_m(coupon: Coupon, *, pitch_m: float) -> NDArray[np.float64]:
    """List the points of all labels and of the plate's name, shape (points, 2), stroke after stroke."""
    return np.concatenate([_along(stroke, pitch_m) for stroke in label_strokes_m(coupon)])


def _along(stroke: NDArray[np.float64], pitch_m: float) -> NDArray[np.float64]:
    """Space points evenly along a stroke, both its ends included, no farther apart than the pitch."""
    way_m = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(stroke, axis=0).T))))
    at_m = np.linspace(0.0, way_m[-1], int(np.ceil(way_m[-1] / pitch_m)) + 1)
    return np.column_stack([np.interp(at_m, way_m, coordinate) for coordinate in stroke.T])
