"""Find the far face in a film: the dark line with glass above it and the bath below."""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from farface.kernel import Missing

STEEPEST: Final = 0.2  # rows a column
SLOPES: Final = 81
WINDOW_PX: Final = 12  # the fit looks this far to both sides of the line
LEAST_GREY: Final = 3.0  # a line is at least this much darker than both of its sides,
LEAST_SPREADS: Final = 6.0  # and stands out of the other rows by this many of their median dips


@dataclass(frozen=True, slots=True, kw_only=True)
class FaceLine:
    """Hold the face as the line row = ``row_px`` + ``slope`` * column, and how thick its dark line is."""

    row_px: float
    slope: float
    thickness_px: float


def find_face(frames: NDArray[np.uint8]) -> FaceLine:
    """Find the face in frames, shape (time, row, column), few enough to hold in memory at once.

    Searches the median frame for the darkest straight line across it, tilted by at most `STEEPEST`, then
    refines it by a fit to the grey levels near it. Raises `Missing` when no line stands out.
    """
    median = np.median(frames, axis=0)
    return _refine(median, *_darkest_line(median))


def _darkest_line(median: NDArray[np.float64]) -> tuple[float, float]:
    """Find the row at column 0 and the slope of the line darkest against both its sides, to about a pixel."""
    best, row_px, best_slope = 0.0, 0.0, 0.0
    middle = median.shape[1] / 2.0
    for slope in np.linspace(-STEEPEST, STEEPEST, SLOPES):
        dips = _dips(_mean_along(median, float(slope)))
        row = int(np.argmax(dips))
        stands_out = dips[row] > max(LEAST_GREY, LEAST_SPREADS * float(np.median(np.abs(dips))))
        if stands_out and dips[row] > best:
            best, row_px, best_slope = float(dips[row]), row - float(slope) * middle, float(slope)
    if best == 0.0:
        raise Missing(
            "the film shows no dark straight line across the frame, so the far face was not found. Give the "
            "face's row and slope, or aim the camera along the face."
        )
    return row_px, best_slope


def _mean_along(median: NDArray[np.float64], slope: float) -> NDArray[np.float64]:
    """Average a frame along lines of one slope; element r is the line through row r of the middle column."""
    height, width = median.shape
    columns = np.arange(width)
    shift = np.rint(slope * (columns - width / 2.0)).astype(np.intp)
    rows = np.arange(height)[:, None] + shift
    inside = (rows >= 0) & (rows < height)
    total = np.where(inside, median[np.clip(rows, 0, height - 1), columns], 0.0).sum(axis=1)
    return np.asarray(total / np.maximum(inside.sum(axis=1), 1))


def _dips(profile: NDArray[np.float64]) -> NDArray[np.float64]:
    """Compute how much darker each row of a profile is than the brighter rows 4 to 8 px to either side.

    The lesser of the two sides counts, so that a mere step from dark to bright is no line.
    """
    wide, narrow = np.ones(5) / 5.0, np.ones(3) / 3.0
    side = np.convolve(profile, wide, mode="same")
    line = np.convolve(profile, narrow, mode="same")
    dips = np.full(profile.size, 0.0)
    dips[8:-8] = np.minimum(side[2:-14], side[14:-2]) - line[8:-8]
    return dips


def _refine(median: NDArray[np.float64], row_px: float, slope: float) -> FaceLine:
    """Fit the line, from about a pixel off, to the grey levels within `WINDOW_PX` of it.

    Three strips under a Gaussian blur: glass, a dark line of some thickness about the face, bath; as shares
    of the bath's grey in each column. Loss soft_l1, so that columns where a bubble stays are outvoted.
    """
    from scipy.optimize import least_squares
    from scipy.special import ndtr

    columns = np.arange(median.shape[1])
    middle = columns.mean()
    rows = np.rint(row_px + slope * columns).astype(np.intp) + np.arange(-WINDOW_PX, WINDOW_PX + 1)[:, None]
    kept = np.all((rows >= 0) & (rows < median.shape[0]), axis=0)
    rows, columns = rows[:, kept], columns[kept]
    level = median[rows, columns]
    level = level / np.maximum(np.median(level[-6:], axis=0), 1.0)
    aside = columns - middle

    def misfit(p: NDArray[np.float64]) -> NDArray[np.float64]:
        row, tilt, half, blur, glass, line, bath = p
        below = rows - row - tilt * aside
        above_line, below_line = ndtr(-(below + half) / blur), ndtr((below - half) / blur)
        model = line + (glass - line) * above_line + (bath - line) * below_line
        return np.asarray((model - level).ravel())

    start = [row_px + slope * middle, slope, 1.5, 1.0, float(np.median(level[:6])), 0.3, 1.0]
    low = [-np.inf, -1.0, 0.3, 0.3, 0.0, 0.0, 0.0]
    high = [np.inf, 1.0, 6.0, 4.0, 3.0, 1.0, 3.0]
    start = np.clip(start, low, high).tolist()
    found = least_squares(misfit, start, bounds=(low, high), loss="soft_l1", f_scale=0.05).x
    return FaceLine(
        row_px=float(found[0] - found[1] * middle), slope=float(found[1]), thickness_px=float(2.0 * found[2])
    )
