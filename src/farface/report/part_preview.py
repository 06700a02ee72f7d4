"""Draw a drawing as it was understood: every shape with its number and kind, before anything is planned."""

from collections.abc import Sequence
from typing import Final

import numpy as np

from farface.kernel import show_quantity
from farface.part.shapes import Shape
from farface.report.content import Picture
from farface.report.labels import heading, paragraph, wrapped
from farface.report.look import Canvas, canvas
from farface.report.scale import scale_bar
from farface.report.svg import Point, Svg, document, element, group, text, way

_HIGH_PX: Final = 430.0
_LEGEND: Final = (
    "Shaded: pocket. Thick line: cut through. Thin line: engraved line. Numbers are those of the list."
)


def preview_picture(name: str, shapes: Sequence[Shape], *, invented: bool) -> Picture:
    """Draw the shapes; each carries its name for a page to find."""
    return Picture(
        caption=preview_caption(shapes),
        svg=_preview(name, shapes, canvas(narrow=False), invented),
        narrow_svg=_preview(name, shapes, canvas(narrow=True), invented),
    )


def preview_caption(shapes: Sequence[Shape]) -> str:
    """Say what to conclude from the preview."""
    low, high = _ends(shapes)
    wide, high_m = (show_quantity(float(size), "m") for size in high - low)
    silent = [shape.name for shape in shapes if shape.depth_m is None and shape.kind != "cut"]
    told = f"{len(shapes)} shapes on {wide} by {high_m}, seen from the laser."
    if not silent:
        return f"{told} Every shape has its depth."
    named = ", ".join(silent[:5]) + (" …" if len(silent) > 5 else "")
    return f"{told} {len(silent)} without a depth of their own: {named}."


def _ends(shapes: Sequence[Shape]) -> tuple[np.ndarray, np.ndarray]:
    paths = np.vstack([path for shape in shapes for path in shape.paths_m])
    return paths.min(axis=0), paths.max(axis=0)


def _preview(name: str, shapes: Sequence[Shape], on: Canvas, invented: bool) -> str:
    head, top_px = heading(f"{name}: as it was understood", invented=invented, calibrated=True, on=on)
    low, high = _ends(shapes)
    span = np.maximum(high - low, 1e-3 * float(np.max(high - low)) + 1e-12)
    per_m = float(min(on.room_px / span[0], _HIGH_PX / span[1])) * 0.94
    left_px = on.margin_px + 0.5 * (on.room_px - float(span[0]) * per_m)
    bottom_px = top_px + 14 + float(span[1]) * per_m

    def at(point: np.ndarray) -> Point:
        return left_px + (float(point[0]) - float(low[0])) * per_m, bottom_px - (
            float(point[1]) - float(low[1])
        ) * per_m

    drawn = [_shape(shape, number, at) for number, shape in enumerate(shapes, start=1)]
    marks = [_number(shape, number, at) for number, shape in enumerate(shapes, start=1)]
    bar_px = bottom_px + 34
    lines = wrapped(_LEGEND, "note", on.room_px)
    body = [
        head, *drawn, *marks,
        scale_bar(per_m, right_px=on.width_px - on.margin_px, y_px=bar_px, longest_px=0.3 * on.room_px),
        paragraph(on.margin_px, bar_px + 28, lines, kind="note"),
    ]  # fmt: skip
    return document(
        title=f"Drawing: {name}", says=preview_caption(shapes), width_px=on.width_px,
        height_px=bar_px + 26 + 16 * len(lines), body=body,
    )  # fmt: skip


def _shape(shape: Shape, number: int, at: object) -> Svg:
    """Draw one shape as its kind; a wide, unseen line around it makes it easy to hit."""
    assert callable(at)
    drawn = "".join(way([at(p) for p in path], closed=shape.kind != "line") for path in shape.paths_m)
    look = {"pocket": "ff-glass ff-pocket", "cut": "ff-outline", "line": "ff-edge"}[shape.kind]
    return group(
        element("path", d=drawn, class_=look, fill_rule="evenodd"),
        element("path", d=drawn, class_="ff-none ff-reach"),
        class_="ff-shape", data_shape=str(number),
    )  # fmt: skip


def _number(shape: Shape, number: int, at: object) -> Svg:
    """Write a shape's number where it begins: at a line's first end, in a pocket's upper left corner."""
    assert callable(at)
    path = shape.paths_m[0]
    if shape.kind == "line":
        x, y = at(path[np.lexsort((path[:, 0], -path[:, 1]))[0]])
        return text(x, y - 6, str(number), kind="label halo", anchor="middle")
    x, y = at(np.array([path[:, 0].min(), path[:, 1].max()]))
    return text(x + 8, y + 18, str(number), kind="label halo")
