"""Write the etched plate around a depth map as a watertight solid, in millimetres, as STL."""

import numpy as np
from numpy.typing import NDArray

from farface.kernel import OutOfRange
from farface.part.depth_map import DepthMap

MOST_TRIANGLES = 200_000


def solid_stl(depths: DepthMap, *, thickness_m: float, invented: bool) -> bytes:
    """Return the solid as binary STL; the far face is at z = 0, the front face at z = thickness.

    The solid is the map's rectangle of plate, seen from the laser: x right, y up, z towards the laser. Cells
    are averaged in blocks until `MOST_TRIANGLES` suffice, which keeps the removed volume. Places deeper than
    the plate become holes with upright walls. Raises `OutOfRange` where nothing of the plate is left.
    """
    from trimesh import Trimesh
    from trimesh.exchange.stl import export_stl

    vertices, faces = solid_mesh(depths, thickness_m=thickness_m)
    data: bytes = export_stl(Trimesh(1e3 * vertices, faces, process=False))
    # The first 80 bytes are free text, which must not begin with the word of the other kind of STL.
    head = "farface, lengths in mm" + (", invented data" if invented else "")
    return head.encode().ljust(80) + data[80:]


def solid_mesh(depths: DepthMap, *, thickness_m: float) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    """Return vertices in metres, shape (vertices, 3), and triangles, shape (triangles, 3), facing outwards.

    One vertex at the etched face and one at the front face stand for the middle of every block.
    """
    depth, block_m = _blocks(depths)
    kept = _kept_squares(depth < thickness_m)
    if not kept.any():
        raise OutOfRange("nothing is left of the plate under the depth map. Check depth and thickness.")
    rows, columns = depth.shape
    number = np.arange(rows * columns).reshape(rows, columns)
    corners = np.stack((number[:-1, :-1], number[:-1, 1:], number[1:, 1:], number[1:, :-1]), axis=-1)[kept]
    floor, front = corners[:, ::-1], corners + rows * columns
    faces = np.vstack((_triangles(floor), _triangles(front), _triangles(_walls(corners, rows * columns))))
    first = np.array(depths.origin_m) + 0.5 * (block_m - depths.cell_m)
    row, column = np.divmod(number.ravel(), columns)
    plane = first + block_m * np.column_stack((column, row))
    low, high = (np.column_stack((plane, z)) for z in (depth.ravel(), np.full(depth.size, thickness_m)))
    return _without_spares(np.vstack((low, high)), faces)


def _blocks(depths: DepthMap) -> tuple[NDArray[np.float64], float]:
    """Average the map in square blocks, with zeros added to fill the last ones, to the allowed size."""
    rows, columns = depths.depth_m.shape
    # Two triangles at the floor and two at the front for each block.
    side = int(np.ceil(np.sqrt(4.0 * rows * columns / MOST_TRIANGLES)))
    padded = np.pad(depths.depth_m.astype(np.float64), ((0, -rows % side), (0, -columns % side)))
    blocks = padded.reshape(padded.shape[0] // side, side, padded.shape[1] // side, side)
    return blocks.mean(axis=(1, 3)), side * depths.cell_m


def _kept_squares(solid: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Keep squares whose four corners are solid; where two touch only at a corner, drop both.

    An edge shared by four walls would belong to no closed surface.
    """
    kept = solid[:-1, :-1] & solid[:-1, 1:] & solid[1:, :-1] & solid[1:, 1:]
    while True:
        a, b, c, d = kept[:-1, :-1], kept[:-1, 1:], kept[1:, :-1], kept[1:, 1:]
        touching = (a & d & ~b & ~c) | (b & c & ~a & ~d)
        if not touching.any():
            return kept
        for part in (a, b, c, d):
            part[touching] = False


def _walls(corners: NDArray[np.int64], above: int) -> NDArray[np.int64]:
    """Return a square from floor to front for every side of a kept square that has no neighbour."""
    start, end = corners.ravel(), np.roll(corners, -1, axis=1).ravel()
    bare = ~np.isin(start * above + end, end * above + start)
    return np.column_stack((start, end, end + above, start + above))[bare]


def _triangles(squares: NDArray[np.int64]) -> NDArray[np.int64]:
    return squares[:, [0, 1, 2, 0, 2, 3]].reshape(-1, 3)


def _without_spares(
    vertices: NDArray[np.float64], faces: NDArray[np.int64]
) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    used, renumbered = np.unique(faces, return_inverse=True)
    return vertices[used], renumbered.reshape(faces.shape)
