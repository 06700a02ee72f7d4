"""Draw a coupon as DXF, in millimetres from the middle of the plate: outlines and labels, no program."""

from typing import TYPE_CHECKING, Final

from farface.coupon.layout import CellShape, Coupon, TrialCell, label_strokes_m
from farface.files.dxf_sheet import frame, new_sheet, sheet_bytes

if TYPE_CHECKING:
    from ezdxf.layouts.layout import Modelspace

_COLOURS: Final = {"PLATE": 8, "MARGIN": 9, "CELLS": 5, "LABELS": 7, "WORDS": 8}


def coupon_dxf(coupon: Coupon) -> bytes:
    """Write plate, margin, cells and single-stroke labels on layers of those names.

    Y points upwards, as the laser sees the plate. Turns and settings stand in the CSV and the bench sheet.
    """
    document = new_sheet(_COLOURS)
    space = document.modelspace()
    half_mm = (500.0 * coupon.width_m, 500.0 * coupon.height_m)
    for layer, inset_mm in (("PLATE", 0.0), ("MARGIN", 1e3 * coupon.margin_m)):
        edge = frame((0.0, 0.0), half_wide_mm=half_mm[0] - inset_mm, half_tall_mm=half_mm[1] - inset_mm)
        space.add_lwpolyline(edge, close=True, dxfattribs={"layer": layer})
    for cell in coupon.cells:
        _draw_cell(space, cell, coupon.shape)
    for stroke in label_strokes_m(coupon):
        space.add_lwpolyline((1e3 * stroke).tolist(), dxfattribs={"layer": "LABELS"})
    words = f"{coupon.plate}: far face as the laser sees it" + ("; invented data" if coupon.invented else "")
    below = (-half_mm[0], -half_mm[1] - 3.0)
    space.add_text(words, height=2.0, dxfattribs={"layer": "WORDS", "insert": below})
    return sheet_bytes(document)


def _draw_cell(space: "Modelspace", cell: TrialCell, shape: CellShape) -> None:
    x_mm, y_mm, half_mm = 1e3 * cell.x_m, 1e3 * cell.y_m, 500.0 * cell.size_m
    on = {"layer": "CELLS"}
    if shape == "round":
        space.add_circle((x_mm, y_mm), half_mm, dxfattribs=on)
    elif shape == "line":
        space.add_line((x_mm - half_mm, y_mm), (x_mm + half_mm, y_mm), dxfattribs=on)
    else:
        corners = frame((x_mm, y_mm), half_wide_mm=half_mm, half_tall_mm=half_mm)
        space.add_lwpolyline(corners, close=True, dxfattribs=on)
