"""Find the region that a set of closed outlines fills, however they cross."""

from collections.abc import Sequence
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from farface.part.shapes import Vertices, rings_of

FillRule = Literal["nonzero", "evenodd"]


def filled_rings(outlines_m: Sequence[Vertices], rule: FillRule) -> tuple[Vertices, ...]:
    """Return rings, none crossing itself or another, around the region that the outlines fill.

    The plane is cut into faces along every outline; a face belongs to the region when its winding number
    is not zero (``nonzero``) or is odd (``evenodd``). Slivers without area vanish, so the result may be
    empty. A repair that looks at one outline alone cannot do this: a crossing outline means different
    regions under the two rules.
    """
    from shapely import LineString, get_coordinates, make_valid, point_on_surface
    from shapely.ops import polygonize, unary_union

    edges = unary_union([LineString(np.vstack((outline, outline[:1]))) for outline in outlines_m])
    faces = list(polygonize(edges))
    if not faces:
        return ()
    winding = winding_number(get_coordinates(point_on_surface(faces)), outlines_m=outlines_m)
    inside = winding != 0 if rule == "nonzero" else winding % 2 != 0
    return rings_of(make_valid(unary_union([face for face, keep in zip(faces, inside, strict=True) if keep])))


def winding_number(places_m: NDArray[np.float64], *, outlines_m: Sequence[Vertices]) -> NDArray[np.int64]:
    """Count how often the outlines run anticlockwise around each place, shape (places, 2) to (places,)."""
    counts = np.zeros(len(places_m), dtype=np.int64)
    for outline in outlines_m:
        near = np.all((outline.min(axis=0) <= places_m) & (places_m <= outline.max(axis=0)), axis=1)
        (x0, y0), (x1, y1) = outline.T, np.roll(outline, -1, axis=0).T
        for index in np.flatnonzero(near):
            x, y = places_m[index]
            left = (x1 - x0) * (y - y0) - (x - x0) * (y1 - y0)
            upward, downward = (y0 <= y) & (y < y1) & (left > 0), (y1 <= y) & (y < y0) & (left < 0)
            counts[index] += np.count_nonzero(upward) - np.count_nonzero(downward)
    return counts


def crosses_itself(outline_m: Vertices) -> bool:
    """Say whether a closed outline touches or crosses itself, as one of two vertices does on its way back."""
    from shapely import LinearRing

    return len(outline_m) < 3 or not LinearRing(outline_m).is_simple
