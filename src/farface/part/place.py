"""Lay the firing points of a shape, leaving room for the spot, inside the field and the plate."""

import math
from collections.abc import Iterator, Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from farface.kernel import OutOfRange
from farface.part.hatch import hatch_points_m, inset_rings, path_points_m
from farface.part.order import interleaved_m
from farface.part.shapes import Shape, Vertices, region_of
from farface.records import PassKind, Rig

# Four turns of 67 degrees are 268: the rows of the square lattice then stand almost evenly, 21 to 23 degrees
# apart, and start again. Few distinct angles keep the points of a hundred passes in memory and in one file.
HATCH_TURN_RAD: Final = math.radians(67.0)
DISTINCT_HATCHES: Final = 4
# Width of a tab that holds a cut piece, and the share of the passes after which tabs are left standing.
# Common practice, no source.
TAB_M: Final = 0.4e-3
TABS_FROM: Final = 0.6
# Points of a path that lie nearer than this many pitches burn the same place twice; around a right angle the
# nearest lie 0.707 apart.
NEAREST: Final = 0.6


def layouts_of(
    shape: Shape, *, pitch_m: float, reach_m: float, passes: int, row_stride: int = 1, tabs: int = 0
) -> tuple[NDArray[np.float64], ...]:
    """Return the distinct arrays of points, shape (points, 2), that a shape's passes fire; see
    `layout_of_turn_m`.

    ``reach_m`` is how far a point etches around itself: a pocket's rows stay that far inside its outline and
    a cut runs that far outside, so that the etched wall meets the outline at the far face. The rows of a
    pocket turn from pass to pass, and every ``row_stride``-th is fired first. A cut has inner rings before
    the outer one, and with ``tabs`` arrays that leave out as many tabs on it. Every other pass over a line or
    a cut has its points between those of the one before, so that the dents leave no ridges. The arrays are
    read-only. Raises `OutOfRange` when nothing is left.
    """
    if shape.kind == "pocket":
        layouts = [
            _hatch_m(shape, pitch_m, reach_m, turn * HATCH_TURN_RAD, row_stride)
            for turn in range(min(passes, DISTINCT_HATCHES))
        ]
    elif shape.kind == "cut":
        layouts = [_around_m(shape, pitch_m, reach_m, between, 0) for between in (False, True)]
        if tabs > 0:
            layouts += [_around_m(shape, pitch_m, reach_m, between, tabs) for between in (False, True)]
    else:
        layouts = [_along_m(shape, pitch_m, between) for between in (False, True)][:passes]
    if not all(len(points) for points in layouts):
        raise OutOfRange(
            f'"{shape.name}" is nowhere wider than the etched spot, {2e6 * reach_m:.3g} um.'
            " Draw it as a line."
        )
    for points in layouts:
        points.setflags(write=False)
    return tuple(layouts)


def layout_of_turn_m(
    layouts_m: Sequence[NDArray[np.float64]], turn: int, *, passes: int, kind: PassKind
) -> NDArray[np.float64]:
    """Return the points of pass ``turn``, from 0: by turns, and for a cut with tabs from `TABS_FROM` on."""
    if kind == "cut":
        return layouts_m[turn % 2 - (2 if turn >= TABS_FROM * passes else len(layouts_m))]
    return layouts_m[turn % len(layouts_m)]


def spaced_m(points_m: NDArray[np.float64], *, pitch_m: float) -> NDArray[np.float64]:
    """Leave out points nearer than `NEAREST` pitches to one before: where a path comes back on itself.

    So a hairpin, or a crossing of two strokes, is not burnt twice; a right angle keeps all its points.
    """
    from scipy.spatial import KDTree

    kept = np.ones(len(points_m), dtype=bool)
    for i, j in sorted(KDTree(points_m).query_pairs(NEAREST * pitch_m)):
        if kept[i]:
            kept[j] = False
    return points_m[kept]


def without_tabs_m(ring_m: NDArray[np.float64], *, count: int, width_m: float) -> NDArray[np.float64]:
    """Leave out the points of evenly spaced tabs of a closed ring of evenly spaced points.

    Raises `OutOfRange` where the tabs would take more than half of it.
    """
    steps = np.hypot(*np.diff(np.vstack((ring_m, ring_m[:1])), axis=0).T)
    along = np.cumsum(steps) - steps
    around_m = float(steps.sum())
    if count * width_m > 0.5 * around_m:
        raise OutOfRange(
            f"{count} tabs of {1e3 * width_m:.2g} mm take more than half of an outline of"
            f" {1e3 * around_m:.3g} mm. Ask for fewer with --tabs."
        )
    spacing_m = around_m / count
    # The first lies half a spacing from the start, which is a corner of most outlines.
    off = np.abs(along % spacing_m - 0.5 * spacing_m)
    return np.asarray(ring_m[off > 0.5 * width_m])


def _along_m(shape: Shape, pitch_m: float, between: bool) -> NDArray[np.float64]:
    paths = [path_points_m(path, pitch_m=pitch_m, closed=False, between=between) for path in shape.paths_m]
    return spaced_m(np.vstack(paths), pitch_m=pitch_m)


def _around_m(shape: Shape, pitch_m: float, reach_m: float, between: bool, tabs: int) -> NDArray[np.float64]:
    """Lay points around the rings of a cut, the outer one last and with tabs."""
    rings = sorted(inset_rings(shape.paths_m, inset_m=-reach_m), key=lambda ring: region_of([ring]).area)
    around = [
        spaced_m(path_points_m(ring, pitch_m=pitch_m, closed=True, between=between), pitch_m=pitch_m)
        for ring in rings
    ]
    if tabs > 0:
        around[-1] = without_tabs_m(around[-1], count=tabs, width_m=TAB_M + 2.0 * reach_m)
    return np.vstack(around)


def _hatch_m(
    shape: Shape, pitch_m: float, reach_m: float, angle_rad: float, row_stride: int
) -> NDArray[np.float64]:
    points = hatch_points_m(shape.paths_m, pitch_m=pitch_m, angle_rad=angle_rad, inset_m=reach_m)
    if row_stride == 1 or not len(points):
        return points
    return interleaved_m(points, pitch_m=pitch_m, angle_rad=angle_rad, stride=row_stride)


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
