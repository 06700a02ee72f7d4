"""Lay trial cells out on a plate, each with room for its label, clear of the plate's edge."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from farface.coupon.design import Trial
from farface.coupon.lettering import letter_strokes, letter_width_m
from farface.kernel import OutOfRange, show_quantity
from farface.records import Plate, Setting

CellShape = Literal["square", "round", "line"]
Places = Literal["shuffled", "in_rows"]

_LABEL_GAP_SHARE: Final = 0.25  # between a label and its cell, as a share of the label's height


@dataclass(frozen=True, slots=True, kw_only=True)
class TrialCell:
    """Hold one cell: its label, what is tried in it and when, the centre and width of what is etched.

    The origin is the centre of the plate, x to the right and y upwards as the laser sees the plate.
    """

    label: str
    setting: Setting
    block: int
    order: int
    x_m: float
    y_m: float
    size_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Coupon:
    """Hold a plate with its cells, in the order of their labels; ``shape`` is that of every cell."""

    plate: str
    invented: bool
    width_m: float
    height_m: float
    margin_m: float
    label_height_m: float
    shape: CellShape
    cells: tuple[TrialCell, ...]

    def in_run_order(self) -> tuple[TrialCell, ...]:
        """List the cells in the order in which they are fired."""
        return tuple(sorted(self.cells, key=lambda cell: cell.order))


@dataclass(frozen=True, slots=True, kw_only=True)
class CellRoom:
    """Hold the measures of a layout: cells ``size_m`` wide, ``spacing_m`` apart, ``margin_m`` kept free.

    ``field_m`` is the side of the scanner's square field, if it is smaller than the plate.
    """

    size_m: float = 2e-3
    spacing_m: float = 0.5e-3
    margin_m: float = 2e-3
    label_height_m: float = 0.8e-3
    field_m: float | None = None
    shape: CellShape = "square"

    @property
    def tall_m(self) -> float:
        """Measure a cell with its label from bottom to top."""
        cell_m = 0.0 if self.shape == "line" else self.size_m
        return cell_m + (1.0 + _LABEL_GAP_SHARE) * self.label_height_m

    @property
    def wide_m(self) -> float:
        """Measure a cell or its label, whichever is wider."""
        return max(self.size_m, letter_width_m("W9", height_m=self.label_height_m))


def lay_out(
    trials: Sequence[Trial],
    plate: Plate,
    *,
    name: str,
    invented: bool,
    room: CellRoom,
    rng: np.random.Generator,
    columns: int | None = None,
    places: Places = "shuffled",
) -> Coupon:
    """Give every trial a place on the plate and a label, row letter and column number, A1 at the top left.

    ``shuffled`` draws the places, so that a tilted or bowed plate does not pass for an effect of the
    settings; ``in_rows`` keeps the order of ``trials``. The plate's name stands below the cells.
    Raises `OutOfRange` when the cells do not fit, and says how many would.
    """
    across, down = cells_that_fit(plate, room)
    wide = columns or _columns(len(trials), across, down)
    rows = math.ceil(len(trials) / wide)
    if wide > across or rows > down:
        raise OutOfRange(_too_many(len(trials), columns, plate, room))
    slots = rng.permutation(len(trials)) if places == "shuffled" else np.arange(len(trials))
    cells = [
        _cell(trial, *divmod(int(slot), wide), rows=rows, columns=wide, room=room)
        for trial, slot in sorted(zip(trials, slots, strict=True), key=lambda pair: int(pair[1]))
    ]
    return Coupon(
        plate=name,
        invented=invented,
        width_m=plate.width_m,
        height_m=plate.height_m,
        margin_m=room.margin_m,
        label_height_m=room.label_height_m,
        shape=room.shape,
        cells=tuple(cells),
    )


def cells_that_fit(plate: Plate, room: CellRoom) -> tuple[int, int]:
    """Count the cells that fit side by side and one above the other, with a line below for the name."""
    if min(room.size_m, room.label_height_m) <= 0.0 or min(room.spacing_m, room.margin_m) < 0.0:
        raise OutOfRange(
            f"cells of {show_quantity(room.size_m, 'm')} with labels of "
            f"{show_quantity(room.label_height_m, 'm')}, or their spacing or margin, cannot be laid out: "
            "sizes must be above zero, the others not below. Give other lengths."
        )
    field_m = math.inf if room.field_m is None else room.field_m
    usable_wide_m = min(plate.width_m - 2.0 * room.margin_m, field_m)
    usable_tall_m = min(plate.height_m - 2.0 * room.margin_m, field_m) - _name_line_m(room)
    return (
        _fitting(usable_wide_m, room.wide_m, room.spacing_m),
        _fitting(usable_tall_m, room.tall_m, room.spacing_m),
    )


def cell_label(row: int, column: int) -> str:
    """Name a cell by its row's letters and its column's number, both counted from 0: A1, B3, AA12."""
    letters = ""
    row += 1
    while row:
        row, letter = divmod(row - 1, 26)
        letters = chr(ord("A") + letter) + letters
    return f"{letters}{column + 1}"


def label_corner_m(cell: TrialCell, coupon: Coupon) -> tuple[float, float]:
    """Find where a cell's label starts: above its left end, on the label's base line."""
    top_m = cell.y_m + (0.0 if coupon.shape == "line" else 0.5 * cell.size_m)
    return cell.x_m - 0.5 * cell.size_m, top_m + _LABEL_GAP_SHARE * coupon.label_height_m


def name_corner_m(coupon: Coupon) -> tuple[float, float]:
    """Find where the plate's name starts: below the first cell of the last row."""
    left_m = min(cell.x_m - 0.5 * cell.size_m for cell in coupon.cells)
    low_m = min(cell.y_m for cell in coupon.cells)
    low_m -= 0.0 if coupon.shape == "line" else 0.5 * coupon.cells[0].size_m
    return left_m, low_m - 1.5 * coupon.label_height_m


def label_strokes_m(coupon: Coupon) -> Iterator[NDArray[np.float64]]:
    """Yield the single strokes of all labels and of the plate's name, each of shape (points, 2)."""
    texts = [(cell.label, label_corner_m(cell, coupon)) for cell in coupon.cells]
    for text, (x_m, y_m) in (*texts, (coupon.plate, name_corner_m(coupon))):
        yield from letter_strokes(text, height_m=coupon.label_height_m, x_m=x_m, y_m=y_m)


def _name_line_m(room: CellRoom) -> float:
    return 1.5 * room.label_height_m


def _fitting(usable_m: float, each_m: float, spacing_m: float) -> int:
    """Count pieces that fit into a length, forgiving rounding by a nanometre."""
    return max(0, math.floor((usable_m + spacing_m + 1e-9) / (each_m + spacing_m)))


def _columns(count: int, across: int, down: int) -> int:
    """Choose as square a matrix as the plate takes."""
    return max(1, min(across, math.ceil(math.sqrt(count))), math.ceil(count / max(down, 1)))


def _cell(trial: Trial, row: int, column: int, *, rows: int, columns: int, room: CellRoom) -> TrialCell:
    """Place one trial; the whole matrix with its name line is centred on the plate."""
    step_x_m, step_y_m = room.wide_m + room.spacing_m, room.tall_m + room.spacing_m
    top_m = 0.5 * (rows * step_y_m - room.spacing_m + _name_line_m(room))
    cell_m = 0.0 if room.shape == "line" else room.size_m
    return TrialCell(
        label=cell_label(row, column),
        setting=trial.setting,
        block=trial.block,
        order=trial.order,
        x_m=(column - 0.5 * (columns - 1)) * step_x_m,
        y_m=top_m - row * step_y_m - room.tall_m + 0.5 * cell_m,
        size_m=room.size_m,
    )


def _too_many(count: int, columns: int | None, plate: Plate, room: CellRoom) -> str:
    across, down = cells_that_fit(plate, room)
    size, spacing, margin, wide, tall = (
        show_quantity(length_m, "m")
        for length_m in (room.size_m, room.spacing_m, room.margin_m, plate.width_m, plate.height_m)
    )
    asked = f" in {columns} columns" if columns else ""
    return (
        f"{count} cells of {size}, {spacing} apart{asked}, do not fit: a plate of {wide} by {tall} with a "
        f"margin of {margin} holds {across * down} of them ({across} by {down}). Take fewer, smaller or "
        "closer cells, another number of columns, or a larger plate."
    )
