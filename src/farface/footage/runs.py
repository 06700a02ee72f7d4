"""List the runs of dark and of bright pixels in a frame, and join those that touch from row to row."""

from typing import Final

import numpy as np
from numba import njit
from numpy.typing import NDArray

DARK: Final = 1
BRIGHT: Final = 2

# One run of pixels in a row; ``stop`` lies one past the end, ``parent`` is an earlier run it was joined to.
RUN: Final = np.dtype([(name, np.int32) for name in ("row", "start", "stop", "kind", "parent")])


@njit(cache=True, nogil=True)
def find_runs(
    frame: NDArray[np.uint8],
    dark_limit: NDArray[np.uint8],
    bright_limit: NDArray[np.uint8],
    line: NDArray[np.uint8],
    runs: NDArray[np.void],
) -> int:
    """List the runs of odd pixels, in order, into ``runs`` (as many as pixels); return their number.

    Pixels below ``dark_limit`` make dark runs, above ``bright_limit`` bright ones. The comparison fills a
    row of bytes, ``line``, padded with zeros to a multiple of eight, which the compiler turns into vector
    instructions; rows without an odd pixel, and words of eight even ones, are then passed over at once.
    """
    height, width = frame.shape
    words = line.view(np.uint64)
    seen = 0
    for i in range(height):
        pixels, low, high = frame[i], dark_limit[i], bright_limit[i]
        for j in range(width):
            line[j] = (pixels[j] < low[j]) | ((pixels[j] > high[j]) << 1)
        odd = np.uint64(0)
        for word in range(words.shape[0]):
            odd |= words[word]
        if odd == 0:
            continue
        kind = 0
        for word in range(words.shape[0]):
            if words[word] == 0 and kind == 0:
                continue
            for j in range(8 * word, 8 * word + 8):
                if line[j] != kind:
                    if kind != 0:
                        runs[seen - 1].stop = j
                    kind = line[j]
                    if kind != 0:
                        run = runs[seen]
                        run.row, run.start, run.stop, run.kind, run.parent = i, j, width, kind, seen
                        seen += 1
    return seen


@njit(cache=True, nogil=True)
def root_of(runs: NDArray[np.void], k: int) -> int:
    """Find the first run of a patch, halving the path on the way."""
    while runs[k].parent != k:
        runs[k].parent = runs[runs[k].parent].parent
        k = runs[k].parent
    return k


@njit(cache=True, nogil=True)
def join_runs(runs: NDArray[np.void], seen: int) -> None:
    """Join runs of one kind that touch, side or corner, in neighbouring rows; roots are the first runs."""
    above = 0
    for k in range(seen):
        while runs[above].row < runs[k].row - 1 or (
            runs[above].row == runs[k].row - 1 and runs[above].stop < runs[k].start
        ):
            above += 1
        m = above
        while m < k and runs[m].row == runs[k].row - 1 and runs[m].start <= runs[k].stop:
            if runs[m].kind == runs[k].kind:
                a, b = root_of(runs, m), root_of(runs, k)
                runs[max(a, b)].parent = min(a, b)
            m += 1
