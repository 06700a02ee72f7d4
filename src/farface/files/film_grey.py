"""Turn deep and coloured pictures into grey levels from 0 to 255."""

from typing import Final

import numpy as np
from numpy.typing import NDArray

LUMA: Final = np.array([0.299, 0.587, 0.114])  # of red, green and blue [itu601]
DEPTHS: Final = (8, 10, 12, 14, 16)


def bits_used(sample: NDArray[np.unsignedinteger]) -> int:
    """Tell how many bits a camera used, from the brightest of a sample of its levels.

    A camera of 12 bits leaves the upper four of its 16 empty, and no file says so: the least of `DEPTHS` that
    holds the brightest level is taken.
    """
    brightest = int(sample.max()) if sample.size else 0
    return next(bits for bits in DEPTHS if brightest < 2**bits)


def to_grey(picture: NDArray[np.unsignedinteger], bits: int) -> NDArray[np.uint8]:
    """Turn a picture, shape (row, column) or (row, column, colour), into 8 bits; what is brighter is white.

    Three colours are weighted as `LUMA`; a fourth, opacity, is left out.
    """
    if picture.ndim == 2 and bits == 8 and picture.dtype == np.uint8:
        return np.asarray(picture, dtype=np.uint8)
    level = picture if picture.ndim == 2 else picture[..., :3] @ LUMA
    return np.asarray(np.minimum(np.rint(level * (255.0 / (2**bits - 1))), 255.0).astype(np.uint8))
