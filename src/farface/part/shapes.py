"""The shapes of a drawing: what to make of each, where, and how deep."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import zip_longest
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from farface.records import PassKind

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

Vertices = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Shape:
    """Hold one shape in plate coordinates: origin in the plate's middle, x right, y up, seen from the laser.

    ``paths_m`` are arrays of shape (vertices, 2). For a pocket or a cut each is a closed ring that does not
    repeat its first vertex; a place is inside when it lies in an odd number of rings. For a line each is
    walked from its first vertex to its last. ``depth_m`` is None where the drawing does not say.
    """

    name: str
    kind: PassKind
    paths_m: tuple[Vertices, ...]
    depth_m: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawing:
    """Hold the shapes of a drawing, and a sentence for everything that was repaired or left out."""

    shapes: tuple[Shape, ...]
    repaired: tuple[str, ...]


def region_of(rings_m: Sequence[Vertices]) -> "BaseGeometry":
    """Return the polygon, or polygons, of the places that lie in an odd number of rings."""
    from shapely import Polygon

    regions: list[BaseGeometry] = [Polygon(ring) for ring in rings_m]
    # By pairs: a thousand rings one after another would take minutes.
    while len(regions) > 1:
        pairs = zip_longest(regions[::2], regions[1::2], fillvalue=Polygon())
        regions = [one.symmetric_difference(other) for one, other in pairs]
    return regions[0]


def rings_of(region: "BaseGeometry") -> tuple[Vertices, ...]:
    """Return every ring of one or several polygons, outer ones and holes alike, without closing vertices."""
    from shapely import get_coordinates, get_parts

    rings = (ring for part in get_parts(region) if part.geom_type == "Polygon"
             for ring in (part.exterior, *part.interiors))  # fmt: skip
    return tuple(get_coordinates(ring)[:-1] for ring in rings if not ring.is_empty)
