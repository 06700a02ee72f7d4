"""Write a cleared plan as two CSV tables: its passes, and the points that they fire.

``passes.csv`` has one row a pass, in order of firing, with all that is to be set; its column ``layout`` says
which points to fire. ``points.csv`` has one row a point, layout by layout, in order of firing. Points that
several passes share are written once. Coordinates are plate coordinates: origin in the plate's middle, x
right, y up, seen from the laser.
"""

import csv
import io
from collections.abc import Iterator
from itertools import chain, repeat

import numpy as np
from numpy.typing import NDArray

from farface.kernel import in_unit
from farface.part.layouts import distinct_layouts
from farface.records import Pass
from farface.safety.gate import Cleared

PASSES_HEADER = (
    *("pass", "shape", "kind", "layout", "points", "pulses_per_point", "rate_kHz", "pulse_energy_uJ"),
    *("focus_drop_um", "note"),
)
POINTS_HEADER = ("layout", "x_mm", "y_mm", "note")

_ROWS_AT_ONCE = 100_000


def passes_csv(cleared: Cleared) -> bytes:
    """Write the table of passes; ``focus_drop_um`` is how far the lens stands back from its first height."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(PASSES_HEADER)
    layouts = distinct_layouts(cleared.draft.passes)
    layout_of = {id(one): layout.number for layout in layouts for one in layout.passes}
    for one in cleared.draft.passes:
        writer.writerow((*_pass_row(one, layout_of[id(one)]), _note(cleared)))
    return text.getvalue().encode()


def points_csv(cleared: Cleared) -> Iterator[bytes]:
    """Write the table of points piece by piece, to a tenth of a micrometre; its first row may bear a note."""
    yield (",".join(POINTS_HEADER) + "\n").encode()
    notes = chain((_note(cleared),), repeat(""))
    for layout in distinct_layouts(cleared.draft.passes):
        row = f"{layout.number},%.4f,%.4f,%s\n".__mod__
        for x_mm, y_mm in columns_mm(layout.points_m):
            yield "".join(map(row, zip(x_mm, y_mm, notes, strict=False))).encode()


def points_parquet(cleared: Cleared) -> bytes:
    """Write the same points for programs: columns layout, x_m and y_m, unrounded, in the same order."""
    import polars

    layouts = distinct_layouts(cleared.draft.passes)
    places_m = np.vstack([layout.points_m for layout in layouts])
    numbers = np.repeat([layout.number for layout in layouts], [len(layout.points_m) for layout in layouts])
    table = polars.DataFrame(
        {"layout": numbers.astype(np.int32), "x_m": places_m[:, 0], "y_m": places_m[:, 1]}
    )
    target = io.BytesIO()
    table.write_parquet(target)
    return target.getvalue()


def columns_mm(points_m: NDArray[np.float64]) -> Iterator[tuple[list[float], list[float]]]:
    """Cut a long array of points into pieces that fit in memory as text: their x and y, in millimetres."""
    for start in range(0, len(points_m), _ROWS_AT_ONCE):
        x_mm, y_mm = (1e3 * points_m[start : start + _ROWS_AT_ONCE]).T.tolist()
        yield x_mm, y_mm


def _pass_row(one: Pass, layout: int) -> tuple[object, ...]:
    return (
        *(one.number, one.shape, one.kind, layout, len(one.points_m), one.setting.pulses_per_point),
        f"{in_unit(one.setting.rate_hz, 'kHz', 'Hz'):.6g}",
        f"{in_unit(one.setting.pulse_energy_j, 'uJ', 'J'):.6g}",
        f"{in_unit(one.focus_drop_m, 'um', 'm'):.2f}",
    )


def _note(cleared: Cleared) -> str:
    return "invented data" if cleared.draft.invented else ""
