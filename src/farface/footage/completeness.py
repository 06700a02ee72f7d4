"""Estimate what share of events a film shows, and correct rates for those it does not."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from farface.footage.coordinates import place_of
from farface.footage.drawn import TrueBubble, TrueFlash
from farface.footage.intervals import Bounded, count_bounds, share_of
from farface.footage.look import Look
from farface.footage.recover import Drawn, recover
from farface.kernel import Missing
from farface.materials.bubble_life import WATER_KG_PER_M3, WATER_OVERPRESSURE_PA, life_s
from farface.records import FilmScale

SHOWN_SHARE: Final = 0.5  # a film shows events of a radius when it shows half of them
LEAST_SHARE: Final = 0.05  # a count is not corrected by more than the inverse of this


@dataclass(frozen=True, slots=True, kw_only=True)
class ShareFound:
    """Hold what share of the drawn events of one radius was found again, of how many tried."""

    radius_m: float
    tried: int
    share: Bounded


def bubbles_found(
    frames: NDArray[np.uint8],
    scale: FilmScale,
    look: Look,
    radii_m: Sequence[float],
    *,
    tries: int,
    rng: np.random.Generator,
) -> tuple[ShareFound, ...]:
    """Estimate the share of bubbles that the film shows, for each largest radius, smallest first.

    Frames, shape (time, row, column), are a piece of the film; into copies of it go bubbles of the film's own
    contrast, edge and depths, which live as long for their size as its own do. They open at any time and
    anywhere along the face: bubbles that fall between frames, reach beyond the picture or lie behind others
    count as in the film. Leaves out that real bubbles are less round. Raises `Missing` for frames too few to
    hold the longest life.
    """
    film_s = len(frames) / scale.frame_hz
    shares = []
    for radius_m in sorted(radii_m):
        lasts_s = look.life_ratio * life_s(radius_m, WATER_KG_PER_M3, WATER_OVERPRESSURE_PA)
        _check_length(film_s, lasts_s)
        drawn = [
            TrueBubble(
                start_s=float(rng.uniform(0.0, film_s - lasts_s)),
                along_m=along_m,
                below_m=below_m,
                radius_max_m=radius_m,
                life_s=lasts_s,
            )
            for along_m, below_m in _places(frames, scale, look, tries, rng)
        ]
        shares.append(_share(frames, scale, look, drawn, radius_m))
    return tuple(shares)


def flashes_found(
    frames: NDArray[np.uint8],
    scale: FilmScale,
    look: Look,
    radii_m: Sequence[float],
    *,
    tries: int,
    rng: np.random.Generator,
) -> tuple[ShareFound, ...]:
    """Estimate the share of flashes that the film shows, for each radius, as `bubbles_found` does.

    A flash is an instant: those that fall while the shutter is closed count as missed.
    """
    film_s = len(frames) / scale.frame_hz
    shares = []
    for radius_m in sorted(radii_m):
        drawn = [
            TrueFlash(
                time_s=float(rng.uniform(0.0, film_s)), along_m=along_m, below_m=below_m, radius_m=radius_m
            )
            for along_m, below_m in _places(frames, scale, look, tries, rng)
        ]
        shares.append(_share(frames, scale, look, drawn, radius_m))
    return tuple(shares)


def smallest_shown_m(shares: Sequence[ShareFound]) -> float | None:
    """Find the radius from which on half of the events are found; None if the largest tried is not.

    In between the radii tried the share is taken as straight in the logarithm of the radius; where the
    smallest one tried is shown already, that one is given.
    """
    hidden = [one for one in shares if one.share.value < SHOWN_SHARE]
    if not hidden:
        return shares[0].radius_m
    above = shares[shares.index(hidden[-1]) + 1 :]
    if not above:
        return None
    below, over = hidden[-1], above[0]
    way = (SHOWN_SHARE - below.share.value) / (over.share.value - below.share.value)
    return float(below.radius_m * (over.radius_m / below.radius_m) ** way)


def corrected_count(radii_m: Sequence[float], shares: Sequence[ShareFound]) -> Bounded:
    """Estimate how many events there were from the radii of those read: each stands for 1 / its share found.

    The interval joins Garwood's for the count read with the shares' own bounds. Where under `LEAST_SHARE` is
    found an event stands for no more than the inverse of that, so events too small to be seen at all are
    left out [horvitz1952].
    """
    known = np.log([one.radius_m for one in shares])
    at = np.log(np.asarray(radii_m, dtype=np.float64))

    def weight(values: list[float]) -> float:
        found = np.interp(at, known, np.maximum(values, LEAST_SHARE))
        return float(np.sum(1.0 / found)) if at.size else 0.0

    value = weight([one.share.value for one in shares])
    least, most = (weight([edge(one.share) for one in shares]) for edge in (_high, _low))
    low, high = count_bounds(at.size)
    count = max(1, at.size)
    return Bounded(value=value, low=low * least / count, high=high * max(most, 1.0) / count)


def _low(share: Bounded) -> float:
    return share.low


def _high(share: Bounded) -> float:
    return share.high


def _share(
    frames: NDArray[np.uint8], scale: FilmScale, look: Look, drawn: Sequence[Drawn], radius_m: float
) -> ShareFound:
    found = int(recover(frames, scale, drawn, look).sum())
    return ShareFound(radius_m=radius_m, tried=len(drawn), share=share_of(found, len(drawn)))


def _places(
    frames: NDArray[np.uint8], scale: FilmScale, look: Look, count: int, rng: np.random.Generator
) -> list[tuple[float, float]]:
    """Draw places anywhere along the face within the picture, at depths like those in the film."""
    width_m = (frames.shape[2] - 1) * scale.pixel_m * math.hypot(1.0, scale.face_slope)
    left_m = place_of(scale, column_px=0.0, row_px=scale.face_row_px).along_m
    along_m = left_m + rng.uniform(0.0, width_m, count)
    below_m = rng.choice(np.asarray(look.depths_m), count)
    return list(zip(along_m.tolist(), below_m.tolist(), strict=True))


def _check_length(film_s: float, lasts_s: float) -> None:
    if lasts_s >= film_s:
        raise Missing(
            f"the piece of film lasts {film_s * 1e6:.3g} us, but a bubble of this size lives "
            f"{lasts_s * 1e6:.3g} us. Give more frames."
        )
