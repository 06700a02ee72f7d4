"""Lay the firing points of a shape, leaving room for the spot, inside the field and the plate."""

import math
from collections.abc import Iterator, Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from farface.kernel import OutOfRange
from farface.part.hatch import hatch_points_m, inset_rings, path_points_m
from farface.part.shapes import Shape, Vertices, region_of
from farface.records import Rig

# Four turns of 67 degrees are 268: the rows of the square lattice then stand almost evenly, 21 to 23 degrees
# apart, and start again. Few distinct angles keep the points of a hundred passes in memory and in one file.
HATCH_TURN_RAD: Final = math.radians(67.0)
DISTINCT_HATCHES: Final = 4


def layouts_of(
    shape: Shape, *, pitch_m: float, reach_m: float, passes: int
) -> tuple[NDArray[np.float64], ...]:
    """Return the distinct arrays of points, shape (points, 2), that a shape's passes fire by turns.

    ``reach_m`` is how far a point etches around itself: a pocket's rows stay that far inside its outline and
    a cut runs that far outside, so that the etched wall meets the outline at the far face. The rows of a
    pocket turn from pass to pass. The arrays are read-only. Raises `OutOfRange` when nothing is left.
    """
    if shape.kind == "pocket":
        layouts = [
            hatch_points_m(shape.paths_m, pitch_m=pitch_m, angle_rad=turn * HATCH_TURN_RAD, inset_m=reach_m)
            for turn in range(min(passes, DISTINCT_HATCHES))
        ]
    elif shape.kind == "cut":
        rings = inset_rings(shape.paths_m, inset_m=-reach_m)
        layouts = [np.vstack([path_points_m(ring, pitch_m=pitch_m, closed=True) for ring in rings])]
    else:
        paths = shape.paths_m
        layouts = [np.vstack([path_points_m(path, pitch_m=pitch_m, closed=False) for path in paths])]
    if not all(len(points) for points in layouts):
        raise OutOfRange(
            f'"{shape.name}" is nowhere wider than the etched spot, {2e6 * reach_m:.3g} um.'
            " Draw it as a line."
        )
    for points in layouts:
        points.setflags(write=False)
    return tuple(layouts)


def check_place(shape: Shape, layouts_m: Sequence[NDArray[np.float64]], rig: Rig) -> None:
    """Raise `OutOfRange` when points leave the field or the plate, both centred on the plate's middle."""
    frames = {
        "the scanner's field": (rig.scanner.field_m, rig.scanner.field_m),
        "the plate": (rig.plate.width_m, rig.plate.height_m),
    }
    across, up = np.max([np.abs(points).max(axis=0) for points in layouts_m], axis=0)
    for what, (width_m, height_m) in frames.items():
        if across > 0.5 * width_m or up > 0.5 * height_m:
            raise OutOfRange(
                f'"{shape.name}" reaches {across * 1e3:.4g} mm sideways and {up * 1e3:.4g} mm up or down from'
                f" the middle, but {what} ends at {500 * width_m:.4g} and {500 * height_m:.4g} mm."
                " Move or shrink it."
            )


def too_narrow_m(rings_m: Sequence[Vertices], *, reach_m: float) -> Iterator[tuple[float, float]]:
    """Yield a place in every part of a region where a disc of the spot's size does not fit.

    The disc leaves out every corner too; a corner of 51 degrees or more loses less than the square of the
    disc's radius and is not counted.
    """
    from shapely import get_parts

    region = region_of(rings_m)
    for lost in get_parts(region.difference(region.buffer(-reach_m).buffer(reach_m))):
        if lost.area > reach_m**2:
            middle = lost.representative_point()
            yield middle.x, middle.y
