"""Take each pixel's median over time, fast: bit by bit, for a whole row of pixels at once."""

import numpy as np
from numba import njit
from numpy.typing import NDArray


def median_grey(frames: NDArray[np.uint8]) -> NDArray[np.float32]:
    """Compute the median of frames, shape (time, row, column), over time, shape (row, column).

    The mean of the two middle levels where the frames are even in number.
    """
    count = frames.shape[0]
    low = np.empty(frames.shape[1:], dtype=np.uint8)
    _smallest_but(frames, (count - 1) // 2, low)
    if count % 2:
        return low.astype(np.float32)
    high = np.empty_like(low)
    _smallest_but(frames, count // 2, high)
    return np.asarray((low.astype(np.float32) + high) / 2.0, dtype=np.float32)


@njit(cache=True, nogil=True)
def _smallest_but(frames: NDArray[np.uint8], rank: int, level: NDArray[np.uint8]) -> None:
    """Find, for each pixel, the level that ``rank`` frames at most lie below, the highest such bit first."""
    below = np.empty(frames.shape[2], dtype=np.uint16)
    for i in range(frames.shape[1]):
        found = level[i]
        found[:] = 0
        for bit in (128, 64, 32, 16, 8, 4, 2, 1):
            below[:] = 0
            for number in range(frames.shape[0]):
                row = frames[number, i]
                for j in range(row.size):
                    below[j] += row[j] < found[j] + bit
            for j in range(found.size):
                if below[j] <= rank:
                    found[j] += bit
