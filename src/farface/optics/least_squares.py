"""Fit a curve to readings by non-linear least squares, with standard errors that hold up to several digits.

Errors come from the singular values of the Jacobian with its columns scaled to length one: forming J^T J
squares its condition, and leaves no correct digit where parameters differ by orders of magnitude.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from farface.kernel import NotConverged

MOST_EVALUATIONS: Final = 20_000
# Parameters that the readings do not tell apart: the least scaled singular value over the largest.
LEAST_SINGULAR_RATIO: Final = 1e-9
# Steps of the central difference, as a share of the parameter: the cube root of the rounding of floats.
STEP_SHARE: Final = 6e-6

# Sums of squares and parameters are followed to the rounding of floats.
TIGHT: Final = 1e-15

Misfit = Callable[[NDArray[np.float64]], NDArray[np.float64]]


@dataclass(frozen=True, slots=True, kw_only=True)
class LeastSquares:
    """Hold what a fit found and its standard errors, shape (parameter,), and what it leaves, (reading,)."""

    found: NDArray[np.float64]
    errors_sd: NDArray[np.float64]
    left: NDArray[np.float64]


def fit_least_squares(
    misfit: Misfit, start: NDArray[np.float64], *, scale: NDArray[np.float64] | None = None
) -> LeastSquares:
    """Minimise the sum of squares of ``misfit``, by Levenberg and Marquardt's method [more1978].

    ``scale`` holds usual sizes of the parameters, needed where one may be zero, shape (parameter,).
    Standard errors are s sqrt(diag (J^T J)^-1) with s^2 = sum of squares / (readings - parameters). Raises
    `NotConverged` when the method gives up or the readings do not tell the parameters apart.
    """
    from scipy.optimize import least_squares  # 0.6 s to import, and needed by few

    def slopes(values: NDArray[np.float64]) -> NDArray[np.float64]:
        return _slopes(misfit, values, scale)

    result = least_squares(
        misfit, start, jac=slopes, method="lm", x_scale="jac", max_nfev=MOST_EVALUATIONS,
        ftol=TIGHT, xtol=TIGHT, gtol=TIGHT,
    )  # fmt: skip
    found = np.asarray(result.x, dtype=np.float64)
    left = misfit(found)
    if not np.all(np.isfinite(left)) or result.status <= 0:
        raise NotConverged("the curve could not be fitted to the readings. Measure more, or check them.")
    return LeastSquares(found=found, errors_sd=standard_errors(misfit, found, left, scale=scale), left=left)


def standard_errors(
    misfit: Misfit,
    found: NDArray[np.float64],
    left: NDArray[np.float64],
    *,
    scale: NDArray[np.float64] | None = None,
) -> NDArray[np.float64]:
    """Return the standard errors of parameters, shape (parameter,), at which a misfit leaves ``left``."""
    slopes = _slopes(misfit, found, scale)
    lengths = np.sqrt((slopes**2).sum(axis=0))
    _, singular, turned = np.linalg.svd(slopes / np.where(lengths > 0.0, lengths, 1.0), full_matrices=False)
    if lengths.min() == 0.0 or singular[-1] < LEAST_SINGULAR_RATIO * singular[0]:
        raise NotConverged(
            "the readings do not tell the parameters of the curve apart. Measure over a wider range."
        )
    spread = np.sqrt(((turned / singular[:, None]) ** 2).sum(axis=0)) / lengths
    free = max(1, left.size - found.size)
    return np.asarray(spread * np.sqrt(float(left @ left) / free))


def _slopes(
    misfit: Misfit, found: NDArray[np.float64], scale: NDArray[np.float64] | None
) -> NDArray[np.float64]:
    """Return the Jacobian by central differences, shape (reading, parameter)."""
    sizes = np.abs(found) if scale is None else np.maximum(np.abs(found), scale)
    columns = []
    for i, size in enumerate(sizes):
        step = np.zeros(found.size)
        step[i] = STEP_SHARE * (size or 1.0)
        up, down = found + step, found - step
        columns.append((misfit(up) - misfit(down)) / (up[i] - down[i]))
    return np.column_stack(columns)
