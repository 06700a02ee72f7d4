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


@dataclass(slots=True, kw_only=True)
class BubbleLinker:
    """Collect bubbles frame by frame: each disc goes to the nearest bubble of the frames just before.

    Pairs are taken nearest first, each disc and each bubble once. A bubble may be missed in `GAP_FRAMES`
    frames. Where a bubble opens in the place of one that has just collapsed the track is cut at the dip in
    radius, and rebounds are left out, by `cycles`.
    """

    scale: FilmScale
    _open: list[_Track] = field(default_factory=list)
    _done: list[_Track] = field(default_factory=list)

    def add(self, discs: NDArray[np.void]) -> None:
        """Take the discs of later frames, in order of frames."""
        rows = discs[["frame", "column", "row", "radius"]].tolist()
        for frame, group in groupby(rows, key=itemgetter(0)):
            self._done += [track for track in self._open if track.discs[-1][0] < frame - 1 - GAP_FRAMES]
            self._open = [track for track in self._open if track.discs[-1][0] >= frame - 1 - GAP_FRAMES]
            self._add_frame(list(group))

    def finish(self) -> tuple[Bubble, ...]:
        """Return every bubble, in order of time."""
        bubbles = [bubble for track in self._done + self._open for bubble in self._bubbles(track)]
        return tuple(sorted(bubbles, key=lambda bubble: (bubble.first_s, bubble.along_m)))

    def _add_frame(self, discs: list[tuple[int, float, float, float]]) -> None:
        pairs = []
        for d, disc in enumerate(discs):
            for t, track in enumerate(self._open):
                distance = track.distance(*disc[1:])
                if distance < 1.0:
                    pairs.append((distance, d, t))
        free_discs, free_tracks = set(range(len(discs))), set(range(len(self._open)))
        for _, d, t in sorted(pairs):
            if d in free_discs and t in free_tracks:
                self._open[t].discs.append(discs[d])
                free_discs.remove(d)
                free_tracks.remove(t)
        self._open += [_Track(discs=[discs[d]]) for d in sorted(free_discs)]

    def _bubbles(self, track: _Track) -> Iterator[Bubble]:
        table = np.array(track.discs)
        for part in cycles(table[:, 3]):
            frames, columns, rows, radii_px = table[part].T
            times_s = frames / self.scale.frame_hz + 0.5 * self.scale.exposure_s
            radii_m = radii_px * self.scale.pixel_m
            life = measure_life(times_s, radii_m, frame_s=1.0 / self.scale.frame_hz)
            place = place_of(self.scale, column_px=float(columns.mean()), row_px=float(rows.mean()))
            yield Bubble(
                first_s=float(times_s[0]),
                life_s=life.life_s,
                along_m=place.along_m,
                below_m=place.below_m,
                radius_max_m=life.radius_max,
                times_s=tuple(times_s.tolist()),
                radii_m=tuple(radii_m.tolist()),
            )
