"""Write the panels of a cell for a cutter, one drawing in millimetres, as SVG or as DXF.

What is cut through, what is scored and what is only said stand on three layers of those names.
"""

from dataclasses import dataclass
from typing import Final
from xml.etree import ElementTree

import numpy as np
from numpy.typing import NDArray

from farface.files.dxf_sheet import new_sheet, sheet_bytes
from farface.prepare.panels import Panel

_APART_MM: Final = 6.0
_SHEET_WIDE_MM: Final = 420.0
# Each layer has its own dash and weight as well as its colour, so that it reads in grey.
_STYLE: Final = """
.cut{fill:none;stroke:#12343f;stroke-width:.25}
.score{fill:none;stroke:#9a5b00;stroke-width:.25;stroke-dasharray:1.6 1.2}
.words{font:3.4px sans-serif;fill:#5b6570;text-anchor:middle}
.note{font:3.4px sans-serif;fill:#5b6570}
"""
_COLOURS: Final = {"CUT": 7, "SCORE": 30, "WORDS": 8}


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """Hold a panel and where its lower left corner lies on the sheet."""

    panel: Panel
    x_mm: float
    y_mm: float


def lay_side_by_side(panels: tuple[Panel, ...]) -> tuple[tuple[Placed, ...], float, float]:
    """Lay panels out in rows as they come; give them with the sheet's width and height in millimetres."""
    placed: list[Placed] = []
    x_mm = y_mm = _APART_MM
    row_mm = widest_mm = 0.0
    for panel in panels:
        wide_mm, tall_mm = (1e3 * panel.size_m).tolist()
        if x_mm > _APART_MM and x_mm + wide_mm + _APART_MM > _SHEET_WIDE_MM:
            x_mm, y_mm, row_mm = _APART_MM, y_mm + row_mm + _APART_MM, 0.0
        placed.append(Placed(panel=panel, x_mm=x_mm, y_mm=y_mm))
        x_mm += wide_mm + _APART_MM
        row_mm, widest_mm = max(row_mm, tall_mm), max(widest_mm, x_mm)
    return tuple(placed), widest_mm, y_mm + row_mm + _APART_MM


def panels_svg(panels: tuple[Panel, ...], *, note: str) -> str:
    """Draw the panels at their true size; ``note`` says below them what they are."""
    placed, wide_mm, tall_mm = lay_side_by_side(panels)
    tall_mm += 8.0
    root = ElementTree.Element(
        "svg",
        {
            "xmlns": "http://www.w3.org/2000/svg",
            "width": f"{wide_mm:.2f}mm",
            "height": f"{tall_mm:.2f}mm",
            "viewBox": f"0 0 {wide_mm:.2f} {tall_mm:.2f}",
            "role": "img",
        },
    )
    ElementTree.SubElement(root, "title").text = "Flat panels of the cell, in millimetres"
    ElementTree.SubElement(root, "desc").text = f"{note} Whole lines are cut, dashed ones scored."
    ElementTree.SubElement(root, "style").text = _STYLE
    for one in placed:
        group = ElementTree.SubElement(root, "g", {"id": one.panel.name.replace(" ", "-").replace(",", "")})
        _draw(group, one, tall_mm - 8.0)
    below = {"class": "note", "x": f"{_APART_MM}", "y": f"{tall_mm - 3.0}"}
    ElementTree.SubElement(root, "text", below).text = note
    ElementTree.indent(root)
    return ElementTree.tostring(root, encoding="unicode") + "\n"


def _draw(group: ElementTree.Element, one: Placed, tall_mm: float) -> None:
    for kind, loops, closed in (
        ("cut", (one.panel.outline_m, *one.panel.holes_m), True),
        ("score", one.panel.scores_m, False),
    ):
        for loop in loops:
            corners = _on_sheet(loop, one)
            way = "M" + "L".join(f"{x:.3f} {tall_mm - y:.3f}" for x, y in corners)
            closing = "Z" if closed or len(loop) > 2 else ""
            ElementTree.SubElement(group, "path", {"class": kind, "d": way + closing})
    for x, y, said in one.panel.words_at_m:
        ((x_mm, y_mm),) = _on_sheet(np.array([[x, y]]), one)
        place = {"class": "words", "x": f"{x_mm:.2f}", "y": f"{tall_mm - y_mm:.2f}"}
        ElementTree.SubElement(group, "text", place).text = said


def panels_dxf(panels: tuple[Panel, ...], *, note: str) -> bytes:
    """Write the panels as closed polylines in millimetres, layers CUT, SCORE and WORDS."""
    document = new_sheet(_COLOURS)
    space = document.modelspace()
    placed, _, _ = lay_side_by_side(panels)
    for one in placed:
        for loop in (one.panel.outline_m, *one.panel.holes_m):
            space.add_lwpolyline(_on_sheet(loop, one).tolist(), close=True, dxfattribs={"layer": "CUT"})
        for loop in one.panel.scores_m:
            attributes = {"layer": "SCORE"}
            space.add_lwpolyline(_on_sheet(loop, one).tolist(), close=len(loop) > 2, dxfattribs=attributes)
        for x, y, said in one.panel.words_at_m:
            ((x_mm, y_mm),) = _on_sheet(np.array([[x, y]]), one).tolist()
            space.add_text(said, height=3.0, dxfattribs={"layer": "WORDS", "insert": (x_mm, y_mm)})
    space.add_text(note, height=3.0, dxfattribs={"layer": "WORDS", "insert": (_APART_MM, -_APART_MM)})
    return sheet_bytes(document)


def _on_sheet(loop: NDArray[np.float64], one: Placed) -> NDArray[np.float64]:
    corner = one.panel.outline_m.min(axis=0)
    return np.asarray(1e3 * (loop - corner) + np.array([one.x_mm, one.y_mm]))
