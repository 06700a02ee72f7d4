"""Join the likelihoods of classes, depths and films into one number per draw."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from farface.etch.bench import EtchBench
from farface.etch.forecast import Forecast, forecast
from farface.learn.depth import depth_width, log_at_least, log_between, log_reading
from farface.learn.film import log_film
from farface.learn.plates import PlateEvidence, on_plate
from farface.learn.seen import log_seen


def log_likelihood(
    bench: EtchBench,
    evidence: Sequence[PlateEvidence],
    draws: NDArray[np.float64],
    offsets: NDArray[np.float64],
    *,
    misread: NDArray[np.float64],
    threads: int = 2,
) -> NDArray[np.float64]:
    """Return the log likelihood of all plates, shape (draw,).

    ``draws`` has shape (draw, UNKNOWN_COUNT), ``offsets`` (draw, plate) holds log-fluence offsets, and
    ``misread`` is the matrix of `farface.learn.seen.misreading`. Cells, depths and films count as
    independent given the draw: that one scatter of fluence moves a cell's class and its depth together
    is left out.
    """
    total = np.zeros(len(draws))
    for plate, offset in zip(evidence, offsets.T, strict=True):
        moved = on_plate(draws, offset)
        ahead = forecast(bench, plate.settings, moved, threads=threads)
        total += log_plate(plate, ahead, depth_width(draws), misread)
    return total


def log_plate(
    plate: PlateEvidence, ahead: Forecast, width: NDArray[np.float64], misread: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Return the log likelihood of one plate, shape (draw,), from the forecast of its settings."""
    total = log_seen(ahead.odds[:, plate.cell_at], plate.seen, misread).sum(axis=1)
    depth_m, wide = ahead.quantity("depth_per_pass_m"), width[:, None]
    measured, felt, pierced = plate.measured, plate.felt, plate.pierced
    total += log_reading(
        reading_m=measured.first_m, sd_m=measured.second_m, median_m=depth_m[:, measured.at], width=wide
    ).sum(axis=1)
    total += log_at_least(
        bound_m=felt.first_m, sd_m=felt.second_m, median_m=depth_m[:, felt.at], width=wide
    ).sum(axis=1)
    total += log_between(
        low_m=pierced.first_m, high_m=pierced.second_m, median_m=depth_m[:, pierced.at], width=wide
    ).sum(axis=1)
    for at, watched in plate.films:
        total += log_film(watched, ahead, at)
    return np.asarray(total)
