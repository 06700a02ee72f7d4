"""Join bright patches of consecutive frames into flashes."""

from dataclasses import dataclass
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


def link_flashes(patches: NDArray[np.void], scale: FilmScale) -> tuple[Flash, ...]:
    """Join the bright ones of patches, in order of frames, into flashes, in order of time.

    Patches lit in consecutive frames at one place are one flash. It carries the time of the middle of the
    first exposure that shows it, the place and area of its brightest frame, and as brightness that frame's
    summed grey above the background, a lower bound where the camera saturates.
    """
    alight: list[_Lit] = []
    done: list[_Lit] = []
    for patch in patches[patches["kind"] == BRIGHT]:
        frame = int(patch["frame"])
        done += [lit for lit in alight if lit.last < frame - 1]
        alight = [lit for lit in alight if lit.last >= frame - 1]
        known = next((lit for lit in alight if lit.near(patch)), None)
        if known is None:
            known = _Lit(first=frame, last=0, column=0.0, row=0.0, pixels=0, excess=0.0)
            alight.append(known)
        known.last = frame
        if patch["excess"] > known.excess:
            known.column, known.row = float(patch["column"]), float(patch["row"])
            known.pixels, known.excess = int(patch["pixels"]), float(patch["excess"])
    return tuple(_flash(lit, scale) for lit in sorted(done + alight, key=lambda one: (one.first, one.column)))


def _flash(lit: _Lit, scale: FilmScale) -> Flash:
    place = place_of(scale, column_px=lit.column, row_px=lit.row)
    return Flash(
        time_s=lit.first / scale.frame_hz + 0.5 * scale.exposure_s,
        along_m=place.along_m,
        below_m=place.below_m,
        area_m2=lit.pixels * scale.pixel_m**2,
        brightness=lit.excess,
        frames_lit=lit.last - lit.first + 1,
    )
