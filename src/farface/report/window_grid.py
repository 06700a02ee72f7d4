"""Lay out a panel of cells over two settings: places, axes, chosen points, and the veil of a prior."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from farface.report.labels import NOT_CALIBRATED, width_px
from farface.report.svg import Point, Svg, element, group, line, local, rect, refer, text
from farface.report.window_view import WindowAxis, WindowView

TICK_ROOM_PX: Final = 58.0  # left of a panel, for its y axis


@dataclass(frozen=True, slots=True, kw_only=True)
class Grid:
    """Hold a panel of ``columns`` by ``rows`` equal cells; row 0 lies at the bottom."""

    left_px: float
    top_px: float
    width_px: float
    height_px: float
    columns: int
    rows: int

    @property
    def right_px(self) -> float:
        """Give the right edge."""
        return self.left_px + self.width_px

    @property
    def bottom_px(self) -> float:
        """Give the lower edge."""
        return self.top_px + self.height_px

    @property
    def cell_px(self) -> Point:
        """Give width and height of a cell."""
        return self.width_px / self.columns, self.height_px / self.rows

    def at(self, column: float, row: float) -> Point:
        """Give the place of a (fractional) cell index; whole indices are cell centres."""
        wide, high = self.cell_px
        return self.left_px + (column + 0.5) * wide, self.bottom_px - (row + 0.5) * high

    def corner(self, column: int, row: int) -> Point:
        """Give the upper left corner of a cell."""
        x_px, y_px = self.at(column - 0.5, row + 0.5)
        return x_px, y_px


def index_of(axis: WindowAxis, value: float) -> float:
    """Give the fractional index of a value on an axis, at the nearest end outside it."""
    return float(np.interp(value, axis.values, np.arange(len(axis.values))))


def x_axis(axis: WindowAxis, grid: Grid) -> Svg:
    """Write ticks and name below a panel."""
    drawn: list[Svg] = []
    for k in _labelled(len(axis.values), grid.width_px / 54):
        x_px = grid.at(k, 0)[0]
        drawn.append(line((x_px, grid.bottom_px), (x_px, grid.bottom_px + 4), "hair"))
        words = f"{axis.values[k]:.3g}"
        drawn.append(text(x_px, grid.bottom_px + 18, words, kind="note", anchor="middle"))
    name = text(grid.right_px, grid.bottom_px + 36, axis.words, anchor="end")
    return group(*drawn, name)


def y_axis(axis: WindowAxis, grid: Grid) -> Svg:
    """Write ticks and name left of a panel."""
    drawn: list[Svg] = []
    for k in _labelled(len(axis.values), grid.height_px / 34):
        y_px = grid.at(0, k)[1]
        drawn.append(line((grid.left_px - 4, y_px), (grid.left_px, y_px), "hair"))
        drawn.append(text(grid.left_px - 7, y_px + 4, f"{axis.values[k]:.3g}", kind="note", anchor="end"))
    middle_px = grid.top_px + grid.height_px / 2
    name = text(grid.left_px - TICK_ROOM_PX + 13, middle_px, axis.words, anchor="middle", turned=True)
    return group(*drawn, name)


def _labelled(count: int, most: float) -> range:
    """Choose which indices carry a number."""
    return range(0, count, max(1, math.ceil(count / max(2.0, most))))


def points(view: WindowView, grid: Grid) -> Svg:
    """Mark the chosen settings, each with its label where there is room."""
    drawn: list[Svg] = []
    for chosen in view.points:
        x_px, y_px = grid.at(index_of(view.x, chosen.x), index_of(view.y, chosen.y))
        drawn.append(element("circle", cx=x_px, cy=y_px, r=8.5, class_="ff-ring"))
        room_px = grid.right_px - x_px - 14
        ends = room_px < width_px(chosen.label, "note")
        at_px = x_px - 13 if ends else x_px + 13
        drawn.append(
            text(at_px, y_px + 4, chosen.label, kind="note ink halo", anchor="end" if ends else "start")
        )
    return group(*drawn, class_="ff-chosen")


def veil(grid: Grid, name: str) -> Svg:
    """Cover the colours of a panel that shows only a prior with stripes, so that it looks like one."""
    stripe = element("path", d="M-1 1L1 -1M0 10L10 0M9 11L11 9", class_="ff-veil")
    pattern = element("pattern", stripe, id=local(name), width=10, height=10, patternUnits="userSpaceOnUse")
    cover = rect(grid.left_px, grid.top_px, grid.width_px, grid.height_px, fill=refer(name))
    return group(pattern, cover, class_="ff-veiled")


def prior_words(grid: Grid) -> Svg:
    """Write across a panel that it is not calibrated."""
    x_px, y_px = grid.left_px + grid.width_px / 2, grid.top_px + grid.height_px / 2
    half_px = width_px(NOT_CALIBRATED, "title") / 2 + 12
    box = rect(x_px - half_px, y_px - 19, 2 * half_px, 34, rx=5, class_="ff-tag")
    return group(box, text(x_px, y_px + 4, NOT_CALIBRATED, kind="title strong", anchor="middle"))


def panel_title(words: str, grid: Grid) -> Svg:
    """Write what a panel shows, above it."""
    return text(grid.left_px, grid.top_px - 9, words)


def frame(grid: Grid) -> Svg:
    """Draw a panel's border."""
    return rect(grid.left_px, grid.top_px, grid.width_px, grid.height_px, class_="ff-hair")


def runs(row: Sequence[tuple[str, float]]) -> list[tuple[int, int, tuple[str, float]]]:
    """Join equal neighbours of a row into (first, count, value), to draw fewer shapes."""
    joined: list[tuple[int, int, tuple[str, float]]] = []
    for k, value in enumerate(row):
        if joined and joined[-1][2] == value:
            first, count, _ = joined[-1]
            joined[-1] = (first, count + 1, value)
        else:
            joined.append((k, 1, value))
    return joined
