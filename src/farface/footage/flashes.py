"""Join bright patches of consecutive frames into flashes."""

from dataclasses import dataclass, field
from typing import Final

import numpy as np
from numpy.typing import NDArray

from farface.footage.coordinates import place_of
from farface.footage.runs import BRIGHT
from farface.records import FilmScale, Flash

NEAR_PX: Final = 4.0


@dataclass(slots=True, kw_only=True)
class _Lit:
    """Hold a flash that may go on: its first and last frame, and its brightest patch so far."""

    first: int
    last: int
    column: float
    row: float
    pixels: int
    excess: float

    def near(self, patch: np.void) -> bool:
        """Say whether a patch touches this flash, both taken as discs."""
        reach = np.sqrt(max(self.pixels, patch["pixels"]) / np.pi) + NEAR_PX
        return bool(np.hypot(patch["column"] - self.column, patch["row"] - self.row) < reach)


@dataclass(slots=True, kw_only=True)
class FlashLinker:
    """Collect flashes frame by frame; patches lit in consecutive frames at one place are one flash.

    A flash carries the time of the middle of the first exposure that shows it, the place and area of its
    brightest frame, and as brightness that frame's summed grey above the background, a lower bound where
    the camera saturates.
    """

    scale: FilmScale
    _open: list[_Lit] = field(default_factory=list)
    _done: list[_Lit] = field(default_factory=list)

    def add(self, patches: NDArray[np.void]) -> None:
        """Take the patches of later frames, in order of frames; dark ones are passed over."""
        for patch in patches[patches["kind"] == BRIGHT]:
            self._close_before(int(patch["frame"]) - 1)
            known = next((lit for lit in self._open if lit.near(patch)), None)
            if known is None:
                known = _Lit(first=int(patch["frame"]), last=0, column=0.0, row=0.0, pixels=0, excess=0.0)
                self._open.append(known)
            known.last = int(patch["frame"])
            if patch["excess"] > known.excess:
                known.column, known.row = float(patch["column"]), float(patch["row"])
                known.pixels, known.excess = int(patch["pixels"]), float(patch["excess"])

    def finish(self) -> tuple[Flash, ...]:
        """Return every flash, in order of time."""
        lit = sorted(self._done + self._open, key=lambda one: (one.first, one.column))
        return tuple(self._flash(one) for one in lit)

    def _close_before(self, frame: int) -> None:
        self._done += [lit for lit in self._open if lit.last < frame]
        self._open = [lit for lit in self._open if lit.last >= frame]

    def _flash(self, lit: _Lit) -> Flash:
        place = place_of(self.scale, column_px=lit.column, row_px=lit.row)
        return Flash(
            time_s=lit.first / self.scale.frame_hz + 0.5 * self.scale.exposure_s,
            along_m=place.along_m,
            below_m=place.below_m,
            area_m2=lit.pixels * self.scale.pixel_m**2,
            brightness=lit.excess,
            frames_lit=lit.last - lit.first + 1,
        )
