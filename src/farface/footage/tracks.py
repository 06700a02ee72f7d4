"""Join the discs of consecutive frames into bubbles."""

from dataclasses import dataclass, field
from itertools import groupby
from operator import itemgetter
from typing import Final, TypeVar

import numpy as np
from numpy.typing import NDArray

from farface.footage.coordinates import place_of
from farface.footage.events import Rebound
from farface.footage.life import cycles, measure_life
from farface.records import Bubble, FilmScale

NEAREST_PX: Final = 3.0  # a bubble's centre may move this far between frames,
NEAREST_SHARE: Final = 0.4  # or this share of its radius, whichever is more
LASTING_FRAMES: Final = 12  # a round thing that lasts this long,
LASTING_RATIO: Final = 0.85  # its small radii above so much of its large ones, does not live and die
WHOLE_SHARE: Final = 0.85  # of its usual contrast, above which a bubble was there all through an exposure
FEWEST_WHOLE: Final = 3
GAP_FRAMES: Final = 1  # a bubble may be missed in this many frames in a row


Disc = tuple[int, float, float, float, float]  # frame, column, row, radius, contrast
Event = TypeVar("Event", Bubble, Rebound)


@dataclass(frozen=True, slots=True, kw_only=True)
class Linked:
    """Hold the bubbles of a film, their rebounds, and the round things that last, each in order of time."""

    bubbles: tuple[Bubble, ...]
    rebounds: tuple[Rebound, ...]
    lasting: tuple[Bubble, ...]


@dataclass(slots=True, kw_only=True)
class _Track:
    """Hold the discs of one bubble so far, in order of frames."""

    discs: list[Disc] = field(default_factory=list)

    def distance(self, column: float, row: float, radius: float) -> float:
        """Compute how far a disc lies from the last one, as a share of how far it may."""
        _, last_column, last_row, last_radius = self.discs[-1][:4]
        may_px = max(NEAREST_PX, NEAREST_SHARE * max(radius, last_radius))
        return float(np.hypot(column - last_column, row - last_row)) / may_px


def link_bubbles(discs: NDArray[np.void], scale: FilmScale) -> Linked:
    """Join discs, in order of frames, into bubbles and their rebounds, in order of time.

    Each disc goes to the nearest bubble of the frames just before, nearest pairs first, each disc and each
    bubble once. A bubble may be missed in `GAP_FRAMES` frames. Where a bubble opens in the place of one that
    has just collapsed the track is cut at the dip in radius, and rebounds are told from it, by `cycles`.
    What hardly changes its radius for `LASTING_FRAMES` and more is no bubble of that kind.
    """
    alive: list[_Track] = []
    done: list[_Track] = []
    rows = discs[["frame", "column", "row", "radius", "contrast"]].tolist()
    for frame, group in groupby(rows, key=itemgetter(0)):
        done += [track for track in alive if track.discs[-1][0] < frame - 1 - GAP_FRAMES]
        alive = [track for track in alive if track.discs[-1][0] >= frame - 1 - GAP_FRAMES]
        alive += _continue(alive, list(group))
    bubbles, rebounds, lasting = [], [], []
    for track in done + alive:
        table = np.array(track.discs)
        if _lasts(table[:, 3]):
            lasting.append(_bubble(table, scale))
            continue
        for cycle in cycles(table[:, 3]):
            bubble = _bubble(table[cycle.life], scale)
            bubbles.append(bubble)
            rebounds += [_rebound(table[again], bubble, scale) for again in cycle.rebounds]
    return Linked(bubbles=_in_order(bubbles), rebounds=_in_order(rebounds), lasting=_in_order(lasting))


def _continue(alive: list[_Track], discs: list[Disc]) -> list[_Track]:
    """Give a frame's discs to the bubbles alive; return the new ones that the rest begin."""
    pairs = []
    for d, disc in enumerate(discs):
        for t, track in enumerate(alive):
            distance = track.distance(*disc[1:4])
            if distance < 1.0:
                pairs.append((distance, d, t))
    free_discs, free_tracks = set(range(len(discs))), set(range(len(alive)))
    for _, d, t in sorted(pairs):
        if d in free_discs and t in free_tracks:
            alive[t].discs.append(discs[d])
            free_discs.remove(d)
            free_tracks.remove(t)
    return [_Track(discs=[discs[d]]) for d in sorted(free_discs)]


def _in_order(events: list[Event]) -> tuple[Event, ...]:
    return tuple(sorted(events, key=lambda event: (event.first_s, event.along_m)))


def _lasts(radii_px: NDArray[np.float64]) -> bool:
    """Say whether radii stay the same for many frames, but for noise."""
    return radii_px.size >= LASTING_FRAMES and bool(
        np.quantile(radii_px, 0.1) > LASTING_RATIO * np.quantile(radii_px, 0.9)
    )


def _rebound(table: NDArray[np.float64], bubble: Bubble, scale: FilmScale) -> Rebound:
    again = _bubble(table, scale)
    return Rebound(
        first_s=again.first_s,
        along_m=again.along_m,
        below_m=again.below_m,
        bubble_radius_m=bubble.radius_max_m,
        rebound_radius_m=again.radius_max_m,
    )


def _bubble(table: NDArray[np.float64], scale: FilmScale) -> Bubble:
    """Measure a bubble from its discs.

    Where it opens or vanishes during an exposure it is as faint as its share of that, and the middle of the
    exposure is not its time. Such frames have no say in the fitted life while three others are left; but
    their share tells when it opened or vanished.
    """
    frames, columns, rows, radii_px, contrast = table.T
    share = contrast / np.sort(contrast)[3 * contrast.size // 4]  # the upper quartile, or the one above it
    whole = share > WHOLE_SHARE
    if np.count_nonzero(whole) < FEWEST_WHOLE:
        whole[:] = True
    times_s = frames / scale.frame_hz + 0.5 * scale.exposure_s
    radii_m = radii_px * scale.pixel_m
    life = measure_life(times_s[whole], radii_m[whole], frame_s=1.0 / scale.frame_hz)
    opened_s, closed_s = life.opened_s, life.opened_s + life.life_s
    if not whole[0]:
        opened_s = times_s[0] + (0.5 - share[0]) * scale.exposure_s
    if not whole[-1]:
        closed_s = times_s[-1] + (share[-1] - 0.5) * scale.exposure_s
    place = place_of(scale, column_px=float(columns.mean()), row_px=float(rows.mean()))
    return Bubble(
        first_s=float(times_s[0]),
        life_s=float(closed_s - opened_s),
        along_m=place.along_m,
        below_m=place.below_m,
        radius_max_m=life.radius_max_m,
        times_s=tuple(times_s.tolist()),
        radii_m=tuple(radii_m.tolist()),
    )
