"""Find what earlier shapes have etched where a new one lies."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from farface.part.shapes import Shape, region_of

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry


@dataclass(frozen=True, slots=True, kw_only=True)
class Etched:
    """Hold a shape that is planned, and how deep its floor then lies below the untouched far face."""

    shape: Shape
    depth_m: float


def floor_depth_m(shape: Shape, earlier: Sequence[Etched]) -> float:
    """Return the depth of the deepest earlier pocket that a shape lies in wholly, or 0."""
    place = _place_of(shape)
    floors = (one.depth_m for one in _pockets(earlier) if region_of(one.shape.paths_m).covers(place))
    return max(floors, default=0.0)


def partly_in(shape: Shape, earlier: Sequence[Etched]) -> Iterator[Etched]:
    """Yield the earlier pockets that a shape lies in with a part, but not wholly."""
    place = _place_of(shape)
    for one in _pockets(earlier):
        region = region_of(one.shape.paths_m)
        # Shapes that only touch share neither length nor area.
        if not region.covers(place) and region.intersection(place).length > 0.0:
            yield one


def _pockets(earlier: Sequence[Etched]) -> Iterator[Etched]:
    return (one for one in earlier if one.shape.kind == "pocket")


def _place_of(shape: Shape) -> "BaseGeometry":
    """Return where the beam goes: over the region of a pocket, along a line or the outline of a cut."""
    from shapely import MultiLineString

    if shape.kind == "line":
        return MultiLineString(list(shape.paths_m))
    region = region_of(shape.paths_m)
    return region if shape.kind == "pocket" else region.boundary
