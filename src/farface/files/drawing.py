"""Read a drawing as shapes to etch; DXF has a module of its own, and this is what SVG means.

A closed, filled region is a pocket; a stroke without fill, or an open one, is a line; a closed outline with
``data-cut="yes"`` is cut out. ``data-depth-um`` on an element or a group around it gives the depth. The
middle of the page becomes the middle of the plate. SVG counts y downwards; plate coordinates count it
upwards, so the part looks as drawn when it is seen from the laser.
"""

import io
import math
import re
from collections import Counter
from collections.abc import Callable, Collection, Iterator, Sequence
from itertools import count
from pathlib import Path
from typing import Any, Final

import numpy as np

from farface.files.drawing_dxf import parse_dxf
from farface.files.drawing_guard import MOST_BYTES, check_drawing
from farface.files.outline import Outline, Page, outlines_of
from farface.kernel import Malformed, Missing, OutOfRange
from farface.part.fill import FillRule, crosses_itself, filled_rings
from farface.part.shapes import Drawing, Shape
from farface.records import PassKind

# SVG and CSS: 96 px are an inch.
PIXEL_M: Final = 0.0254 / 96.0
MOST_VERTICES: Final = 1_000_000

_RULES: Final[dict[str, FillRule]] = {"nonzero": "nonzero", "evenodd": "evenodd"}


def read_drawing(path: Path) -> Drawing:
    """Read the drawing at ``path``; raises `Missing`, `Malformed` or `OutOfRange` with one sentence."""
    try:
        with path.open("rb") as file:
            text = file.read(MOST_BYTES + 1)
    except OSError as error:
        raise Missing(f"{path} could not be read: {error.strerror}. Give an SVG or DXF drawing.") from error
    parse = PARSERS.get(path.suffix.lower())
    if parse is None:
        known = " and ".join(PARSERS)
        raise Malformed(
            f"{path.name} is no drawing that farface reads; those end in {known}. Save it as one."
        )
    return parse(text)


def parse_drawing(text: bytes) -> Drawing:
    """Read the text of an SVG drawing, curves flattened to within a micrometre."""
    check_drawing(text)
    shapes: dict[str, Shape] = {}
    repaired: list[str] = []
    asked: Counter[str] = Counter()
    for element, outlines in _drawn(text):
        name = _free_name(element, shapes, asked)
        shape = _shape_of(element, name, outlines)
        if not shape.paths_m:
            repaired.append(f'"{name}" encloses no area and was left out.')
            continue
        if shape.kind != "line" and any(crosses_itself(outline.vertices_m) for outline in outlines):
            repaired.append(f'"{name}" crosses itself; the region it fills was traced anew.')
        shapes[name] = shape
    if not shapes:
        raise Missing("the drawing holds nothing to etch. Draw closed, filled regions for pockets, or lines.")
    return Drawing(shapes=tuple(shapes.values()), repaired=tuple(repaired))


def _drawn(text: bytes) -> Iterator[tuple[Any, tuple[Outline, ...]]]:
    """Yield every visible element of the drawing that has an outline."""
    import svgelements

    try:
        root = svgelements.SVG.parse(io.BytesIO(text), reify=False, on_error="raise")
    except Exception as error:  # the library lets any kind through
        raise Malformed(f"the drawing could not be read: {error}. Save it again as plain SVG.") from error
    page = _page(root)
    vertices = 0
    for element in root.elements(lambda one: isinstance(one, svgelements.Shape) and _is_seen(one)):
        outlines = outlines_of(element, page)
        vertices += sum(len(outline.vertices_m) for outline in outlines)
        if vertices > MOST_VERTICES:
            raise OutOfRange(f"the drawing has more than {MOST_VERTICES:.0e} vertices. Simplify its paths.")
        if outlines:
            yield element, outlines


def _page(root: Any) -> Page:
    if root.viewbox is None and not {"width", "height"} <= root.values["attributes"].keys():
        raise Malformed("the drawing has no page size. Give the svg element a width and a height in mm.")
    return Page(middle_px=(float(root.x + root.width / 2), float(root.y + root.height / 2)), pixel_m=PIXEL_M)


def _shape_of(element: Any, name: str, outlines: Sequence[Outline]) -> Shape:
    depth_m = _depth_m(element, name)
    kind = _kind_of(element, name, outlines)
    if kind == "line":
        # A closed line comes back to where it began.
        paths = [np.vstack((one.vertices_m, one.vertices_m[:1])) if one.closed else one.vertices_m
                 for one in outlines]  # fmt: skip
    else:
        rule = _RULES.get(element.values.get("fill-rule", "nonzero"), "nonzero")
        paths = list(filled_rings([one.vertices_m for one in outlines if len(one.vertices_m) > 2], rule))
    return Shape(name=name, kind=kind, paths_m=tuple(paths), depth_m=depth_m)


def _kind_of(element: Any, name: str, outlines: Sequence[Outline]) -> PassKind:
    closed = all(outline.closed for outline in outlines)
    cut = element.values.get("data-cut", "no")
    if cut not in ("yes", "no"):
        raise Malformed(f'"{name}" has data-cut="{cut}". Write yes or no.')
    if cut == "yes":
        if not closed:
            raise Malformed(f'"{name}" is to be cut out, but its outline is open. Close its path.')
        return "cut"
    if not _painted(element, "fill"):
        return "line"
    if closed:
        return "pocket"
    # SVG fills with black where nothing is said, so an open stroke that says nothing is meant as a line.
    if _painted(element, "stroke") and "fill" not in element.values["attributes"]:
        return "line"
    raise Malformed(
        f'"{name}" is filled, but its outline is open. Close its path for a pocket, or give it a stroke and'
        ' fill="none" for a line.'
    )


def _depth_m(element: Any, name: str) -> float | None:
    text = element.values.get("data-depth-um")
    if text is None:
        return None
    try:
        depth_um = float(text)
    except ValueError:
        depth_um = math.nan
    if not (depth_um > 0.0 and math.isfinite(depth_um)):
        raise Malformed(f'"{name}" has data-depth-um="{text}". Write a positive number of micrometres.')
    return depth_um * 1e-6


def _is_seen(element: Any) -> bool:
    visible = element.values.get("visibility", "visible") == "visible"
    return visible and (_painted(element, "fill") or _painted(element, "stroke"))


def _painted(element: Any, how: str) -> bool:
    if how == "fill" and element.values["tag"] == "line":
        return False
    return str(element.values.get(how, "none")).strip().lower() not in ("none", "transparent", "")


def _free_name(element: Any, taken: Collection[str], asked: Counter[str]) -> str:
    """Return the element's id, or its kind, with a number where that is needed to tell it from others."""
    wanted = re.sub(r"[^\w .-]", "_", str(element.id or element.values["tag"]))[:60]
    asked[wanted] += 1
    numbered = (f"{wanted} {n}" if n > 1 or not element.id else wanted for n in count(asked[wanted]))
    return next(name for name in numbered if name not in taken)


# What reads the text of a drawing, by the end of its file's name.
PARSERS: Final[dict[str, Callable[[bytes], Drawing]]] = {".svg": parse_drawing, ".dxf": parse_dxf}
