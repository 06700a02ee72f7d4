"""Find connected dark and bright patches in frames, and sum up each."""

from typing import Any, Final

import numpy as np
from numba import njit
from numpy.typing import NDArray

from farface.footage.background import Background
from farface.footage.circle_sums import add_point
from farface.footage.runs import RUN, find_runs, join_runs, root_of

FEWEST_PIXELS: Final = 8  # noise alone makes no patch so large: see `background.DARK_SIGMAS`

PATCH: Final = np.dtype(
    [
        ("frame", np.int64),
        ("kind", np.int64),
        ("pixels", np.int64),
        ("column", np.float64),
        ("row", np.float64),
        ("excess", np.float64),
        ("excess_squared", np.float64),
        ("circle_column", np.float64),
        ("circle_row", np.float64),
        ("circle_radius", np.float64),
        ("top", np.int64),
        ("bottom", np.int64),
        ("left", np.int64),
        ("right", np.int64),
    ]
)


def find_patches(
    frames: NDArray[np.uint8], background: Background
) -> tuple[NDArray[np.void], NDArray[np.int64]]:
    """Find the patches of frames, shape (time, row, column), and how many pixels of each frame are odd.

    Dark (or bright) pixels that touch by side or corner form a patch; those below ``FEWEST_PIXELS`` are
    dropped. A patch has the fields of `PATCH`: mean ``column`` and ``row``; ``excess``, the summed grey
    above the background; and the circle that fits its outermost edges in each row best in Kasa's algebraic
    sense, a first guess that knows nothing of grey levels (radius 0 with fewer than three edges). Edges
    against the rim of the frame, or against pixels where no bubble could be seen, are no edges of a bubble.
    ``top``, ``bottom``, ``left`` and ``right`` are the outermost rows and columns that belong to it.
    """
    count, height, width = frames.shape
    most = height * width // FEWEST_PIXELS + 1
    patches = np.zeros(most + 4 * count, dtype=PATCH)
    odd = np.zeros(count, dtype=np.int64)
    parts = []
    done = 0
    while done < count:
        done, found = _scan(
            frames,
            done,
            background.grey,
            background.dark_limit,
            background.bright_limit,
            background.usable,
            patches,
            odd,
        )
        parts.append(patches[:found].copy())
    return np.concatenate(parts) if parts else patches[:0], odd


@njit(cache=True, nogil=True)
def _scan(
    frames: NDArray[np.uint8],
    first: int,
    grey: NDArray[np.float32],
    dark_limit: NDArray[np.uint8],
    bright_limit: NDArray[np.uint8],
    usable: NDArray[np.uint8],
    patches: NDArray[np.void],
    odd: NDArray[np.int64],
) -> tuple[int, int]:
    """Scan frames from ``first`` until ``patches`` might overflow; return the next frame and the number."""
    count, height, width = frames.shape
    most = height * width // FEWEST_PIXELS + 1
    runs = np.empty(height * width, dtype=RUN)
    line = np.zeros((width + 7) // 8 * 8, dtype=np.uint8)
    found = 0
    for number in range(first, count):
        if found + most > patches.shape[0]:
            return number, found
        seen = find_runs(frames[number], dark_limit, bright_limit, line, runs)
        if seen == 0:
            continue
        join_runs(runs, seen)
        before = found
        found = _sum_runs(frames[number], grey, runs, seen, patches, found)
        _fit_circles(usable, runs, seen, patches[before:found], before)
        for k in range(before, found):
            patches[k].frame = number
        for k in range(seen):
            odd[number] += runs[k].stop - runs[k].start
    return count, found


@njit(cache=True, nogil=True)
def _sum_runs(
    frame: NDArray[np.uint8],
    grey: NDArray[np.float32],
    runs: NDArray[np.void],
    seen: int,
    patches: NDArray[np.void],
    found: int,
) -> int:
    """Sum each patch's pixels into ``patches`` from ``found`` on; return where the next frame starts.

    Afterwards a run's parent is the number of its patch, or -1 if the patch was too small.
    """
    sums = np.zeros((seen, 3))
    for k in range(seen):
        root = root_of(runs, k)
        runs[k].parent = root
        length = runs[k].stop - runs[k].start
        sums[root, 0] += length
        sums[root, 1] += 0.5 * length * (runs[k].start + runs[k].stop - 1)
        sums[root, 2] += length * runs[k].row
    for k in range(seen):
        root = runs[k].parent
        if root != k:
            runs[k].parent = runs[root].parent
        elif sums[k, 0] < FEWEST_PIXELS:
            runs[k].parent = -1
        else:
            runs[k].parent = found
            patch = patches[found]
            patch.kind, patch.pixels = runs[k].kind, int(sums[k, 0])
            patch.excess, patch.excess_squared, patch.circle_radius = 0.0, 0.0, 0.0
            patch.top, patch.left, patch.right = runs[k].row, frame.shape[1], -1
            patch.column, patch.row = sums[k, 1] / sums[k, 0], sums[k, 2] / sums[k, 0]
            found += 1
        if runs[k].parent >= 0:
            patch, i = patches[runs[k].parent], runs[k].row
            patch.bottom = i
            patch.left, patch.right = min(patch.left, runs[k].start), max(patch.right, runs[k].stop - 1)
            for j in range(runs[k].start, runs[k].stop):
                excess = frame[i, j] - grey[i, j]
                patch.excess += excess
                patch.excess_squared += excess * excess
    return found


@njit(cache=True, nogil=True)
def _fit_circles(
    usable: NDArray[np.uint8],
    runs: NDArray[np.void],
    seen: int,
    patches: NDArray[np.void],
    number: int,
) -> None:
    """Fit a circle to each patch's outermost edges, row by row; ``number`` is that of the first."""
    ends = np.full((patches.shape[0], 3), -1, dtype=np.int64)  # a patch's last row, start and stop
    sums = np.zeros((ends.shape[0], 9))
    for k in range(seen):
        p = runs[k].parent - number
        if p < 0:
            continue
        if ends[p, 0] != runs[k].row:
            _add_edges(usable, patches[p], ends[p], sums[p])
            ends[p, 0], ends[p, 1] = runs[k].row, runs[k].start
        ends[p, 2] = runs[k].stop
    for p in range(ends.shape[0]):
        if ends[p, 0] >= 0:
            _add_edges(usable, patches[p], ends[p], sums[p])
            _solve_circle(patches[p], sums[p])


@njit(cache=True, nogil=True)
def _add_edges(
    usable: NDArray[np.uint8], patch: Any, ends: NDArray[np.int64], sums: NDArray[np.float64]
) -> None:
    """Add a row's two outermost edges to the sums of the normal equations, about the patch's mean."""
    i, start, stop = ends[0], ends[1], ends[2]
    if i < 0:
        return
    for j, inside, outside in ((start - 0.5, start, start - 1), (stop - 0.5, stop - 1, stop)):
        if outside < 0 or outside >= usable.shape[1] or usable[i, outside] != usable[i, inside]:
            continue
        u, v = j - patch.column, i - patch.row
        add_point(sums, u, v)


@njit(cache=True, nogil=True)
def _solve_circle(patch: Any, sums: NDArray[np.float64]) -> None:
    """Solve Kasa's normal equations, minimising the sum of (u^2 + v^2 - 2 a u - 2 b v - c)^2."""
    n = sums[0]
    if n < 3.0:
        return
    mean_u, mean_v, mean_z = sums[1] / n, sums[2] / n, sums[6] / n
    uu, uv, vv = sums[3] - n * mean_u**2, sums[4] - n * mean_u * mean_v, sums[5] - n * mean_v**2
    uz, vz = sums[7] - n * mean_u * mean_z, sums[8] - n * mean_v * mean_z
    determinant = uu * vv - uv * uv
    if determinant <= 1e-9 * (uu + vv) ** 2:
        return
    a = 0.5 * (uz * vv - vz * uv) / determinant
    b = 0.5 * (vz * uu - uz * uv) / determinant
    patch.circle_column, patch.circle_row = patch.column + a, patch.row + b
    patch.circle_radius = np.sqrt(max(0.0, mean_z - 2.0 * (a * mean_u + b * mean_v) + a * a + b * b))
