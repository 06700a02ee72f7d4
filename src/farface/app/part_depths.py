"""Give the shapes of a drawing other depths than the drawing says, by their names."""

from collections.abc import Mapping
from dataclasses import replace

from farface.kernel import Malformed, OutOfRange, parse_quantity
from farface.part.shapes import Drawing


def deepened(drawing: Drawing, depths: Mapping[str, str]) -> Drawing:
    """Set the depths that were typed, such as ``{"field": "80 um"}``; shapes that are not named stay.

    Raises `Malformed` for a name that the drawing does not have or a text that is no length, `OutOfRange` for
    a depth that is not above zero.
    """
    names = [shape.name for shape in drawing.shapes]
    unknown = [name for name in depths if name not in names]
    if unknown:
        raise Malformed(f'The drawing has no shape "{unknown[0][:60]}". It has {", ".join(names)}.')
    read = {name: depth_m(text, name) for name, text in depths.items()}
    shapes = tuple(
        replace(shape, depth_m=read[shape.name]) if shape.name in read else shape for shape in drawing.shapes
    )
    return replace(drawing, shapes=shapes)


def depth_m(text: str, name: str) -> float:
    """Read the depth of a shape; it must be above zero."""
    what = f'the depth of "{name}"'
    value = parse_quantity(text, "m", what=what)
    if value <= 0.0:
        raise OutOfRange(f'{what} is "{text}"; it must be above zero. Give a positive length.')
    return value
