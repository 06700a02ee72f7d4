"""Join the discs of consecutive frames into bubbles."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import groupby
from operator import itemgetter
from typing import Final

import numpy as np
from numpy.typing import NDArray

from farface.footage.coordinates import place_of
from farface.footage.life import cycles, measure_life
from farface.records import Bubble, FilmScale

NEAREST_PX: Final = 3.0  # a bubble's centre may move this far between frames,
NEAREST_SHARE: Final = 0.4  # or this share of its radius, whichever is more
GAP_FRAMES: Final = 1  # a bubble may be missed in this many frames in a row


@dataclass(slots=True, kw_only=True)
class _Track:
    """Hold the discs of one bubble so far, in order of frames, as (frame, column, row, radius)."""

    discs: list[tuple[int, float, float, float]] = field(default_factory=list)

    def distance(self, column: float, row: float, radius: float) -> float:
        """Compute how far a disc lies from the last one, as a share of how far it may."""
        _, last_column, last_row, last_radius = self.discs[-1]
        may_px = max(NEAREST_PX, NEAREST_SHARE * max(radius, last_radius))
        return float(np.hypot(column - last_column, row - last_row)) / may_px


def link_bubbles(discs: NDArray[np.void], scale: FilmScale) -> tuple[Bubble, ...]:
    """Join discs, in order of frames, into bubbles, in order of time.

    Each disc goes to the nearest bubble of the frames just before, nearest pairs first, each disc and each
    bubble once. A bubble may be missed in `GAP_FRAMES` frames. Where a bubble opens in the place of one that
    has just collapsed the track is cut at the dip in radius, and rebounds are left out, by `cycles`.
    """
    alive: list[_Track] = []
    done: list[_Track] = []
    rows = discs[["frame", "column", "row", "radius"]].tolist()
    for frame, group in groupby(rows, key=itemgetter(0)):
        done += [track for track in alive if track.discs[-1][0] < frame - 1 - GAP_FRAMES]
        alive = [track for track in alive if track.discs[-1][0] >= frame - 1 - GAP_FRAMES]
        alive += _continue(alive, list(group))
    bubbles = [bubble for track in done + alive for bubble in _bubbles(track, scale)]
    return tuple(sorted(bubbles, key=lambda bubble: (bubble.first_s, bubble.along_m)))


def _continue(alive: list[_Track], discs: list[tuple[int, float, float, float]]) -> list[_Track]:
    """Give a frame's discs to the bubbles alive; return the new ones that the rest begin."""
    pairs = []
    for d, disc in enumerate(discs):
        for t, track in enumerate(alive):
            distance = track.distance(*disc[1:])
            if distance < 1.0:
                pairs.append((distance, d, t))
    free_discs, free_tracks = set(range(len(discs))), set(range(len(alive)))
    for _, d, t in sorted(pairs):
        if d in free_discs and t in free_tracks:
            alive[t].discs.append(discs[d])
            free_discs.remove(d)
            free_tracks.remove(t)
    return [_Track(discs=[discs[d]]) for d in sorted(free_discs)]


def _bubbles(track: _Track, scale: FilmScale) -> Iterator[Bubble]:
    table = np.array(track.discs)
    for part in cycles(table[:, 3]):
        frames, columns, rows, radii_px = table[part].T
        times_s = frames / scale.frame_hz + 0.5 * scale.exposure_s
        radii_m = radii_px * scale.pixel_m
        life = measure_life(times_s, radii_m, frame_s=1.0 / scale.frame_hz)
        place = place_of(scale, column_px=float(columns.mean()), row_px=float(rows.mean()))
        yield Bubble(
            first_s=float(times_s[0]),
            life_s=life.life_s,
            along_m=place.along_m,
            below_m=place.below_m,
            radius_max_m=life.radius_max_m,
            times_s=tuple(times_s.tolist()),
            radii_m=tuple(radii_m.tolist()),
        )
