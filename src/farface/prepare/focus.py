"""Say how well the far face must be found and held level, and refuse a lens that cannot get there."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from farface.kernel import Malformed, NotConverged, OutOfRange, show_quantity
from farface.optics.beam import depth_of_field_m, rayleigh_range_m
from farface.optics.spot import rig_lens_drop_m, spot_radius_m
from farface.records import Known, Rig

# A spot a tenth wider has a fifth less fluence: common practice, no source.
GROWTH: Final = 1.1
# Room between the splash cover and the lens, for hands and spray: common practice, no source.
FREE_MIN_M: Final = 10e-3


@dataclass(frozen=True, slots=True, kw_only=True)
class FocusNeeds:
    """Hold how far to lower the lens, how exactly, and how level the plate must lie over a field.

    Heights are those of the lens: a lens lowered by d moves the focus by n d inside the glass, and a face
    lifted by d meets the beam as if the lens were lowered by d.
    """

    lens_drop_m: Known
    tolerance_m: float
    tilt_rad: float
    rung_m: float


def focus_needs(rig: Rig, *, field_m: float) -> FocusNeeds:
    """Give the focus tolerance zR sqrt(g^2 - 1) and the tilt that stays within it over a field's side.

    zR in air, of the rig's spot, g = 1.1; the thickness's own sd, over n, is taken off the tolerance first.
    Tilt is the rest over half the field. Raises `OutOfRange` where the thickness is known too loosely for
    any tilt, or the field is not above zero.
    """
    if not field_m > 0.0:
        raise OutOfRange(
            f"field is {show_quantity(field_m, 'm')}, but the plate is worked over a field above 0. Give "
            "its side."
        )
    drop = rig_lens_drop_m(rig)
    rayleigh_m = rayleigh_range_m(
        waist_m=spot_radius_m(rig).value, wavelength_m=rig.laser.wavelength_m, m2=rig.laser.m2
    )
    tolerance_m = depth_of_field_m(rayleigh_m=rayleigh_m, growth=GROWTH)
    left_m = tolerance_m - drop.sd
    if left_m <= 0.0:
        raise OutOfRange(
            f"the plate's thickness leaves {show_quantity(drop.sd, 'm', digits=2)} of doubt in the lens's "
            f"height, but the focus bears {show_quantity(tolerance_m, 'm', digits=2)} in all (a spot a "
            "tenth wider). Measure the thickness with a micrometer and write it into rig.toml."
        )
    return FocusNeeds(
        lens_drop_m=drop,
        tolerance_m=tolerance_m,
        tilt_rad=math.atan(left_m / (0.5 * field_m)),
        rung_m=0.5 * rayleigh_m,
    )


def require_reach(
    *, drop_m: float, travel_m: float | None, working_m: float | None, cover_above_m: float
) -> None:
    """Raise `OutOfRange` for a lens that cannot get down to its focus.

    ``travel_m`` is how far its slide goes below focus on the front face, ``working_m`` the room between lens
    and focus, ``cover_above_m`` how far the splash cover's top stands above the front face.
    """
    if travel_m is not None and travel_m < drop_m:
        raise OutOfRange(
            f"the lens must be lowered by {show_quantity(drop_m, 'm', digits=4)} (t/n), but its slide "
            f"goes down by {show_quantity(travel_m, 'm', digits=4)}. Raise the cell, or take a thinner "
            "plate."
        )
    if working_m is not None and working_m < drop_m + cover_above_m + FREE_MIN_M:
        raise OutOfRange(
            f"the lens has {show_quantity(working_m, 'm')} to its focus, but the cover stands "
            f"{show_quantity(cover_above_m, 'm')} above the front face, the lens comes down by "
            f"{show_quantity(drop_m, 'm')}, and {show_quantity(FREE_MIN_M, 'm')} must stay free "
            "(geometry, common practice). Build a lower rim, or take a longer lens."
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class LadderReading:
    """Hold where a focus ladder puts the focus, below the far face, and how many of its rungs marked."""

    middle_m: Known
    marked: int
    rungs: int


def read_ladder(offsets_m: Sequence[float], marked: Sequence[bool]) -> LadderReading:
    """Take the middle of the rungs that left a mark as the best focus; rungs may be repeated.

    The doubt is that of two ends, each somewhere in its step: step / sqrt(24). Holds where the spot grows
    alike on both sides. Raises `Malformed` for fewer than three rungs, `NotConverged` when none or the
    outermost marked: the ladder then does not reach around the focus.
    """
    rungs = sorted(set(offsets_m))
    if len(rungs) < 3 or len(offsets_m) != len(marked):
        raise Malformed(
            f"the ladder has {len(rungs)} rungs and {len(marked)} readings of {len(offsets_m)}, but it "
            "needs three rungs or more, each read (common practice). Run a longer one."
        )
    seen = [offset for offset, mark in zip(offsets_m, marked, strict=True) if mark]
    if not seen or min(seen) == rungs[0] or max(seen) == rungs[-1]:
        raise NotConverged(
            f"{len(set(seen))} of {len(rungs)} rungs left a mark, but marks must end inside the ladder on "
            "both sides. Change the pulse energy until only the middle rungs mark, or lay out a longer "
            "ladder."
        )
    step_m = (rungs[-1] - rungs[0]) / (len(rungs) - 1)
    middle = Known(value=0.5 * (min(seen) + max(seen)), sd=step_m / math.sqrt(24.0), how="measured")
    return LadderReading(middle_m=middle, marked=len(set(seen)), rungs=len(rungs))
