"""Say how likely the class that a person wrote down is, given the odds of what truly happened."""

from typing import Final

import numpy as np
from numpy.typing import NDArray

from farface.kernel import OutOfRange
from farface.records import SEEN, Seen

# Share of cells written down as a neighbouring class. Assumed: the edges between classes are soft.
MISREAD_SHARE: Final = 0.05
# Share of cells written down as any class at all: a wrong line of the sheet. Assumed.
SLIP_SHARE: Final = 0.002


def seen_word(seen: Seen) -> str:
    """Return a class as a person reads it."""
    return seen.replace("_", " ")


def odds_text(odds: float) -> str:
    """Write odds as a person reads them, never as none and never as all."""
    if odds < 0.001:
        return "less than 0.1 %"
    if odds > 0.995:
        return "more than 99 %"
    return f"{100.0 * odds:.0f} %" if odds >= 0.1 else f"{100.0 * odds:.1f} %"


def misreading(misread_share: float = MISREAD_SHARE) -> NDArray[np.float64]:
    """Build the matrix of misreading, shape (true class, written class); every row sums to 1.

    Classes neighbour one another in the order of `SEEN`, and ``misread_share`` is shared equally among a
    class's neighbours. On top of that ``SLIP_SHARE`` falls on all classes alike, so that no single line
    of a sheet can rule out the truth. Raises `OutOfRange` for a share outside 0 to 0.5.
    """
    if not 0.0 <= misread_share <= 0.5:
        raise OutOfRange(
            f"the misread share is {misread_share:g}, but it must lie between 0 and 0.5, or a class would "
            "more often be read as another. Give the share of cells you would call differently next day."
        )
    classes = len(SEEN)
    place = np.arange(classes)
    neighbours = (np.abs(place[:, None] - place) == 1).astype(float)
    read = (1.0 - misread_share) * np.eye(classes)
    read += misread_share * neighbours / neighbours.sum(axis=1, keepdims=True)
    return np.asarray((1.0 - SLIP_SHARE) * read + SLIP_SHARE / classes)


def log_seen(
    odds: NDArray[np.float64], seen: NDArray[np.intp], misread: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Return the log probability of each written class, shape (draw, cell).

    ``odds`` has shape (draw, cell, class), ``seen`` holds places in `SEEN`, and ``misread`` is the
    matrix of `misreading`: log sum_t odds_t M[t, seen].
    """
    return np.asarray(np.log(np.einsum("dct,tc->dc", odds, misread[:, seen])))
