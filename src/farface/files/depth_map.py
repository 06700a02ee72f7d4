"""Write a depth map as an array, as a grey picture to measure in, and as a picture to look at.

The array begins at the lowest y, the grey picture at the highest, as pictures do; `map_notes` goes beside
them and says how to read both back as lengths.
"""

import io
import json
import struct
import zlib
from typing import Final

import numpy as np

from farface.kernel import in_unit
from farface.part.depth_map import DepthMap

# One grey level of the 16-bit picture; the deepest one is then 1.3 mm.
GREY_STEP_M: Final = 20e-9
INVENTED: Final = "invented data"


def npy_bytes(depths: DepthMap) -> bytes:
    """Write depth in metres, float32, shape (row, column), row 0 at the lowest y, as NPY."""
    file = io.BytesIO()
    np.save(file, depths.depth_m, allow_pickle=False)
    return file.getvalue()


def map_notes(depths: DepthMap, *, invented: bool) -> bytes:
    """Write as JSON what array and grey picture cannot say: cell, place, grey step, and order of rows."""
    notes = {
        "note": INVENTED if invented else "",
        "cell_um": round(in_unit(depths.cell_m, "um", "m"), 6),
        "x_of_column_0_mm": round(in_unit(depths.origin_m[0], "mm", "m"), 6),
        "y_of_row_0_mm": round(in_unit(depths.origin_m[1], "mm", "m"), 6),
        "npy": "depth in m, rows from the lowest y up",
        "png": f"depth in steps of {GREY_STEP_M * 1e9:g} nm, rows from the highest y down",
    }
    return json.dumps(notes, indent=2).encode() + b"\n"


def grey_png(depths: DepthMap, *, invented: bool) -> bytes:
    """Write depth as a 16-bit grey PNG, `GREY_STEP_M` a level, y upwards, black where nothing was etched.

    The brightest level stands for its depth and all beyond it.
    """
    levels = np.minimum(np.rint(depths.depth_m[::-1] / GREY_STEP_M), 65535)
    rows, columns = levels.shape
    # Every row of a PNG starts with its filter, here none.
    lines = np.zeros((rows, 1 + 2 * columns), dtype=np.uint8)
    lines[:, 1:] = np.ascontiguousarray(levels.astype(">u2")).view(np.uint8)
    pixels_per_m = round(1.0 / depths.cell_m)
    comment = INVENTED if invented else "depth map"
    return b"\x89PNG\r\n\x1a\n" + b"".join((
        _chunk(b"IHDR", struct.pack(">IIBBBBB", columns, rows, 16, 0, 0, 0, 0)),
        _chunk(b"pHYs", struct.pack(">IIB", pixels_per_m, pixels_per_m, 1)),
        _chunk(b"tEXt", f"Comment\0{comment}, {GREY_STEP_M * 1e9:g} nm a level".encode("latin-1")),
        _chunk(b"IDAT", zlib.compress(lines.tobytes(), 6)),
        _chunk(b"IEND", b""),
    ))  # fmt: skip


def picture_png(depths: DepthMap, *, title: str, invented: bool) -> bytes:
    """Draw the map with axes in mm and a scale of depth in um, perceptually even, as a PNG."""
    from matplotlib.figure import Figure

    rows, columns = depths.depth_m.shape
    height = min(max(6.0 * rows / columns + 0.8, 2.5), 10.0)
    figure = Figure(figsize=(7.5, height), dpi=150, layout="constrained")
    axes = figure.add_subplot()
    left, low = (1e3 * (at - 0.5 * depths.cell_m) for at in depths.origin_m)
    right, high = left + 1e3 * columns * depths.cell_m, low + 1e3 * rows * depths.cell_m
    image = axes.imshow(
        1e6 * depths.depth_m, origin="lower", cmap="cividis", vmin=0.0, interpolation="antialiased",
        extent=(left, right, low, high),
    )  # fmt: skip
    figure.colorbar(image, ax=axes, label="depth below the untouched far face, um")
    axes.set(xlabel="x on the plate, mm", ylabel="y on the plate, mm")
    axes.set_title(title, loc="left")
    axes.set_title(INVENTED if invented else "", loc="right")
    file = io.BytesIO()
    figure.savefig(file, format="png")
    return file.getvalue()


def _chunk(kind: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
