"""Read a DXF drawing as shapes to etch: one shape for what is closed on a layer, one for what is open.

Closed outlines of a layer are a pocket, an outline inside another a hole in it; open ones are lines. On a
layer whose name begins with ``cut`` closed outlines are cut out. A name that ends in ``_100um`` gives the
layer's depth. The origin of the drawing's model space is the middle of the plate, y upwards, as seen from
the laser. The prefix and the suffix are farface's own; the format knows neither kinds nor depths.
"""

import io
import logging
import math
import re
from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace
from itertools import chain, count
from typing import Any, Final

from farface.files.chains import joined, without_doubles
from farface.files.drawing_guard import MOST_BYTES
from farface.files.dxf_blocks import Walk
from farface.files.outline import Outline
from farface.kernel import Malformed, Missing, OutOfRange
from farface.part.fill import crosses_itself, filled_rings
from farface.part.shapes import Drawing, Shape

# What the header variable $INSUNITS says, and the metres in such a unit.
_UNITS_M: Final = {1: 0.0254, 4: 1e-3, 5: 1e-2, 6: 1.0, 13: 1e-6}
_DEPTH: Final = re.compile(r"_(\d+\.?\d*|\.\d+)um$", re.IGNORECASE)


def parse_dxf(text: bytes) -> Drawing:
    """Read the text of a DXF drawing, curves flattened to within a micrometre.

    Raises `Missing`, `Malformed` or `OutOfRange` with one sentence.
    """
    document = _document(text)
    walk = Walk(document=document)
    layers: dict[str, list[Outline]] = {}
    for layer, outline in walk.outlines(unit_m=_unit_m(document)):
        layers.setdefault(layer, []).append(outline)
    shapes: dict[str, Shape] = {}
    repaired = list(walk.sentences())
    for layer, outlines in layers.items():
        for shape in _shapes_of(layer, outlines, repaired):
            name = _free_name(shape.name, shapes)
            shapes[name] = replace(shape, name=name)
    if not shapes:
        raise Missing("the drawing holds nothing to etch. Draw closed outlines for pockets, or lines.")
    return Drawing(shapes=tuple(shapes.values()), repaired=tuple(repaired))


def _document(text: bytes) -> Any:
    if len(text) > MOST_BYTES:
        raise OutOfRange(f"the drawing is larger than {MOST_BYTES / 1e6:.0f} MB. Simplify it.")
    if b"\0" in text:
        raise Malformed("the file is no DXF drawing in text form. Save it as text (ASCII) DXF.")
    if text.split()[-1:] != [b"EOF"]:
        raise Malformed(
            "the file is no DXF drawing, or it was cut off: it does not end in EOF. Save it again."
        )
    import ezdxf

    logging.getLogger("ezdxf").setLevel(logging.CRITICAL)  # its remarks are no sentences for a person
    try:
        document = ezdxf.read(io.StringIO(text.decode(errors="replace")))  # type: ignore[attr-defined]
        document.modelspace()  # which a damaged file may lack
    except Exception as error:  # the library lets any kind through
        raise Malformed(
            "the drawing could not be read as DXF. Save it again, as DXF of 2000 or later."
        ) from error
    return document


def _unit_m(document: Any) -> float:
    unit_m = _UNITS_M.get(document.header.get("$INSUNITS", 0))
    if unit_m is None:
        raise Malformed(
            "the drawing does not say its unit, or one that farface does not read. Set the drawing's units"
            " (header variable $INSUNITS) to mm (4), cm (5), m (6), inch (1) or um (13), and save it as DXF"
            " of 2000 or later."
        )
    return unit_m


def _shapes_of(layer: str, outlines: Sequence[Outline], repaired: list[str]) -> Iterator[Shape]:
    depth_m, name = _depth_m(layer), re.sub(r"[^\w .-]", "_", layer)[:60]
    outlines = _repaired(name, outlines, repaired)
    closed = [one.vertices_m for one in outlines if one.closed and len(one.vertices_m) > 2]
    lines = tuple(one.vertices_m for one in outlines if not one.closed)
    cut = layer.lower().startswith("cut")
    if cut and lines:
        x_mm, y_mm = 1e3 * lines[0][0]
        raise Malformed(
            f'"{name}" is to be cut out, but its outline that begins at ({x_mm:.3f}, {y_mm:.3f}) mm is open.'
            " Close it."
        )
    rings = filled_rings(closed, "evenodd") if closed else ()
    if rings:
        yield Shape(name=name, kind="cut" if cut else "pocket", paths_m=rings, depth_m=depth_m)
        if any(crosses_itself(one) for one in closed):
            repaired.append(f'"{name}" crosses itself; the region it fills was traced anew.')
    elif len(outlines) > len(lines):
        repaired.append(f'"{name}" encloses no area and was left out.')
    if lines:
        yield Shape(name=f"{name} lines" if rings else name, kind="line", paths_m=lines, depth_m=depth_m)


def _repaired(name: str, outlines: Sequence[Outline], repaired: list[str]) -> tuple[Outline, ...]:
    single = without_doubles(outlines)
    if doubles := len(outlines) - len(single):
        repaired.append(f'"{name}" was drawn twice in part; doubles left out: {doubles}.')
    chains, crossings = joined(single)
    if crossings:
        repaired.append(f'"{name}" was not joined where more than two ends meet (places: {crossings}).')
    return chains


def _depth_m(layer: str) -> float | None:
    found = _DEPTH.search(layer)
    if found is None:
        return None
    depth_um = float(found[1])
    if not (depth_um > 0.0 and math.isfinite(depth_um)):
        raise Malformed(f'the layer "{layer[:60]}" gives a depth that is no positive number. Rename it.')
    return depth_um * 1e-6


def _free_name(wanted: str, taken: Collection[str]) -> str:
    """Return the name, with a number where that is needed to tell it from others."""
    return next(name for name in chain([wanted], (f"{wanted} {n}" for n in count(2))) if name not in taken)
