"""Draw a coupon to scale as SVG, in millimetres: plate, margin, cells, engraved labels, run order."""

from typing import Final
from xml.etree import ElementTree

import numpy as np
from numpy.typing import NDArray

from farface.coupon.layout import Coupon, TrialCell, label_corner_m, name_corner_m
from farface.coupon.lettering import letter_strokes
from farface.kernel import in_unit

Element = ElementTree.Element

_CAPTION_MM: Final = 7.0  # room below the plate for the words
_EDGE_MM: Final = 0.5  # room around the plate, so that its outline is not cut
_STYLE: Final = """
.coupon-plate{fill:#eef2f1;stroke:#20303a;stroke-width:.2}
.coupon-margin{fill:none;stroke:#6a7780;stroke-width:.12;stroke-dasharray:.8 .6}
.coupon-cell{fill:url(#coupon-hatch);stroke:#20303a;stroke-width:.12}
.coupon-label{fill:none;stroke:#20303a;stroke-width:.12;stroke-linecap:round;stroke-linejoin:round}
.coupon-hatch{stroke:#8fa0a8;stroke-width:.06}
.coupon-turn{font:600 .95px sans-serif;fill:#20303a;stroke:#eef2f1;stroke-width:.45;paint-order:stroke}
.coupon-middle{text-anchor:middle}
.coupon-line{text-anchor:end;font-size:.8px;stroke:none}
.coupon-words{font:1.7px sans-serif;fill:#20303a}
"""


def coupon_svg(coupon: Coupon) -> str:
    """Draw a coupon as the laser sees it; each cell is a group that carries its setting as data.

    The hatching is symbolic: its lines lie wider apart than the pitch, which stands in ``data-pitch-um``.
    Numbers in the cells are turns in the run. Plate, cells and labels are to scale.
    """
    width_mm, height_mm = in_unit(coupon.width_m, "mm", "m"), in_unit(coupon.height_m, "mm", "m")
    root = _root(width_mm, height_mm + _CAPTION_MM)
    _describe(root, coupon)
    _hatch_pattern(root)
    _rectangle(root, "plate", 0.0, 0.0, width_mm, height_mm)
    margin_mm = in_unit(coupon.margin_m, "mm", "m")
    inner = (width_mm - 2.0 * margin_mm, height_mm - 2.0 * margin_mm)
    _rectangle(root, "margin", margin_mm, margin_mm, *inner)
    for cell in coupon.cells:
        _draw_cell(root, cell, coupon)
    _engrave(root, coupon.plate, name_corner_m(coupon), coupon)
    _caption(root, coupon, height_mm)
    ElementTree.indent(root)
    return ElementTree.tostring(root, encoding="unicode") + "\n"


def _root(width_mm: float, height_mm: float) -> Element:
    wide_mm, tall_mm = width_mm + 2.0 * _EDGE_MM, height_mm + 2.0 * _EDGE_MM
    return Element(
        "svg",
        {
            "xmlns": "http://www.w3.org/2000/svg",
            "width": f"{wide_mm:g}mm",
            "height": f"{tall_mm:g}mm",
            "viewBox": f"{-_EDGE_MM:g} {-_EDGE_MM:g} {wide_mm:g} {tall_mm:g}",
            "role": "img",
            "aria-labelledby": "coupon-title coupon-desc",
        },
    )


def _describe(root: Element, coupon: Coupon) -> None:
    title = ElementTree.SubElement(root, "title", {"id": "coupon-title"})
    title.text = f"Coupon {coupon.plate}: {len(coupon.cells)} trial cells"
    description = ElementTree.SubElement(root, "desc", {"id": "coupon-desc"})
    description.text = f"{_words(coupon)}. Units are millimetres; hatching is symbolic."
    ElementTree.SubElement(root, "style").text = _STYLE


def _words(coupon: Coupon) -> str:
    invented = " (invented data)" if coupon.invented else ""
    return f"{coupon.plate}{invented}: far face as the laser sees it, through the glass; numbers are turns"


def _hatch_pattern(root: Element) -> None:
    pattern = ElementTree.SubElement(
        ElementTree.SubElement(root, "defs"),
        "pattern",
        {"id": "coupon-hatch", "width": "1", "height": "0.25", "patternUnits": "userSpaceOnUse"},
    )
    ElementTree.SubElement(pattern, "path", {"class": "coupon-hatch", "d": "M0 .125H1"})


def _rectangle(
    parent: Element, kind: str, x_mm: float, y_mm: float, width_mm: float, height_mm: float
) -> None:
    size = {"x": x_mm, "y": y_mm, "width": width_mm, "height": height_mm}
    attributes = {name: f"{value:.4f}" for name, value in size.items()}
    ElementTree.SubElement(parent, "rect", {"class": f"coupon-{kind}", **attributes})


def _draw_cell(root: Element, cell: TrialCell, coupon: Coupon) -> None:
    group = ElementTree.SubElement(root, "g", _data(cell))
    x_mm, y_mm = _on_sheet(np.array([cell.x_m, cell.y_m]), coupon)
    size_mm = in_unit(cell.size_m, "mm", "m")
    turn_mm = (x_mm, y_mm + 0.34)
    if coupon.shape == "square":
        _rectangle(group, "cell", x_mm - size_mm / 2, y_mm - size_mm / 2, size_mm, size_mm)
    elif coupon.shape == "round":
        circle = {"cx": f"{x_mm:.4f}", "cy": f"{y_mm:.4f}", "r": f"{size_mm / 2:.4f}"}
        ElementTree.SubElement(group, "circle", {"class": "coupon-cell", **circle})
    else:
        path = f"M{x_mm - size_mm / 2:.4f} {y_mm:.4f}h{size_mm:.4f}"
        ElementTree.SubElement(group, "path", {"class": "coupon-cell", "d": path})
        turn_mm = (x_mm + size_mm / 2, y_mm - 0.25)
    place = {
        "class": f"coupon-turn coupon-{'line' if coupon.shape == 'line' else 'middle'}",
        "x": f"{turn_mm[0]:.4f}",
        "y": f"{turn_mm[1]:.4f}",
    }
    ElementTree.SubElement(group, "text", place).text = str(cell.order)
    _engrave(group, cell.label, label_corner_m(cell, coupon), coupon)


def _data(cell: TrialCell) -> dict[str, str]:
    setting = cell.setting
    return {
        "id": f"cell-{cell.label}",
        "data-order": str(cell.order),
        "data-block": str(cell.block),
        "data-pulse-energy-uj": f"{in_unit(setting.pulse_energy_j, 'uJ', 'J'):.6g}",
        "data-rate-khz": f"{in_unit(setting.rate_hz, 'kHz', 'Hz'):.6g}",
        "data-pulses-per-point": str(setting.pulses_per_point),
        "data-pitch-um": f"{in_unit(setting.pitch_m, 'um', 'm'):.6g}",
        "data-passes": str(setting.passes),
        "data-focus-offset-um": f"{in_unit(setting.focus_offset_m, 'um', 'm'):.6g}",
    }


def _engrave(parent: Element, text: str, corner_m: tuple[float, float], coupon: Coupon) -> None:
    """Draw a label as one path of single strokes."""
    x_m, y_m = corner_m
    strokes = letter_strokes(text, height_m=coupon.label_height_m, x_m=x_m, y_m=y_m)
    pieces = ["M" + "L".join(f"{x:.4f} {y:.4f}" for x, y in _on_sheet(stroke, coupon)) for stroke in strokes]
    ElementTree.SubElement(parent, "path", {"class": "coupon-label", "d": "".join(pieces)})


def _caption(root: Element, coupon: Coupon, height_mm: float) -> None:
    """Write the words under the plate in short lines, so that a narrow plate holds them."""
    lines = [
        f"{coupon.plate}: far face, seen through the glass",
        "numbers are turns" + ("; invented data" if coupon.invented else ""),
    ]
    for number, line in enumerate(lines):
        y_mm = height_mm + 2.6 + 2.3 * number
        ElementTree.SubElement(
            root, "text", {"class": "coupon-words", "x": "0", "y": f"{y_mm:g}"}
        ).text = line


def _on_sheet(points_m: NDArray[np.float64], coupon: Coupon) -> NDArray[np.float64]:
    """Turn plate coordinates (origin at the centre, y upwards) into sheet coordinates in millimetres."""
    corner_m = np.array([0.5 * coupon.width_m, 0.5 * coupon.height_m])
    return np.asarray((corner_m + points_m * np.array([1.0, -1.0])) * 1e3)
