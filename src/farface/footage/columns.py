"""Read vapour columns: dark patches that reach down from the face, longer than wide, with straight sides."""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from farface.footage.background import FACE_GUARD_PX
from farface.footage.coordinates import place_of
from farface.footage.runs import DARK
from farface.records import Bubble, FilmScale

LEAST_ELONGATION: Final = 1.5  # length over width; a half-bubble has a half, a bubble one
LEAST_BOX_SHARE: Final = 0.82  # of the patch's box that is dark: a disc fills 0.79 of its own, two less
TOUCHES_PX: Final = 2.5  # a column starts this near below what is hidden by the face's dark line
BLUR_PX: Final = 0.9  # standard deviation, typical of a film in focus
GAP_FRAMES: Final = 1  # a column may be missed in so many frames in a row
NEAR_WIDTHS: Final = 0.7  # from frame to frame a column stays where it is, to so much of its width


@dataclass(frozen=True, slots=True, kw_only=True)
class VapourColumn:
    """Hold one column: first seen, place along the face, width, largest length, and length by frame.

    Lengths are square to the face, from it to the column's end; the width is the mean over the frame in which
    the column is longest.
    """

    first_s: float
    along_m: float
    width_m: float
    length_max_m: float
    times_s: tuple[float, ...]
    lengths_m: tuple[float, ...]


def are_columns(patches: NDArray[np.void], scale: FilmScale) -> NDArray[np.bool_]:
    """Say of each patch whether it is a column: it touches the face, is longer than wide, and fills its box.

    The sides are taken as upright in the picture, so the face's slope should stay under 0.2.
    """
    long_px = patches["bottom"] - patches["top"] + 1
    wide_px = patches["right"] - patches["left"] + 1
    gap_px = patches["top"] - _face_px(patches, scale)
    return np.asarray(
        (patches["kind"] == DARK)
        & (gap_px < FACE_GUARD_PX + TOUCHES_PX)
        & (long_px > LEAST_ELONGATION * wide_px)
        & (patches["pixels"] > LEAST_BOX_SHARE * long_px * wide_px)
    )


def link_columns(patches: NDArray[np.void], scale: FilmScale) -> tuple[VapourColumn, ...]:
    """Join patches that are columns, in order of frames, into columns, in order of time.

    A patch goes on with the column that stood at its place in the frames just before.
    """
    open_rows: list[list[np.void]] = []
    done: list[list[np.void]] = []
    for patch in patches:
        frame, column = patch["frame"], patch["column"]
        done += [rows for rows in open_rows if rows[-1]["frame"] < frame - 1 - GAP_FRAMES]
        open_rows = [rows for rows in open_rows if rows[-1]["frame"] >= frame - 1 - GAP_FRAMES]
        may_px = NEAR_WIDTHS * (patch["right"] - patch["left"] + 1)
        near = [r for r in open_rows if r[-1]["frame"] < frame and abs(r[-1]["column"] - column) < may_px]
        if near:
            near[0].append(patch)
        else:
            open_rows.append([patch])
    columns = [_column(np.array(rows), scale) for rows in done + open_rows]
    return tuple(sorted(columns, key=lambda one: (one.first_s, one.along_m)))


def without_columns(
    bubbles: tuple[Bubble, ...], columns: tuple[VapourColumn, ...], *, frame_s: float
) -> tuple[Bubble, ...]:
    """Leave out the bubbles that are a column's first or last frames, when it is about as wide as long."""
    return tuple(b for b in bubbles if not any(_is_end(b, column, frame_s) for column in columns))


def _is_end(bubble: Bubble, column: VapourColumn, frame_s: float) -> bool:
    """Say whether a bubble stands at a column's place right before, during or right after it."""
    at_place = abs(bubble.along_m - column.along_m) < column.width_m and bubble.below_m < column.length_max_m
    slack_s = (GAP_FRAMES + 1.5) * frame_s
    before = bubble.times_s[-1] < column.times_s[0] - slack_s
    after = bubble.times_s[0] > column.times_s[-1] + slack_s
    return at_place and not before and not after


def _column(patches: NDArray[np.void], scale: FilmScale) -> VapourColumn:
    """Measure one column: its length from the face to its lowest row, its width from the light it takes.

    For a strip of width w, sharp but for a blur of s, the summed excess squared over the summed square is
    w / (1 - 2 s / (w sqrt(pi))) times its length, which is solved for w with s = `BLUR_PX`. What the face's
    dark line hides is left out of both sums and length.
    """
    length_px = patches["bottom"] + 0.5 - _face_px(patches, scale)
    longest = int(np.argmax(length_px))
    most = patches[longest]
    soft_px = most["excess"] ** 2 / most["excess_squared"] / (most["bottom"] - most["top"] + 1.0)
    lost_px = min(2.0 * BLUR_PX / np.sqrt(np.pi), 0.25 * soft_px)
    middle_px, row_px = float(patches["column"].mean()), float(patches["row"].mean())
    times_s = patches["frame"] / scale.frame_hz + 0.5 * scale.exposure_s
    upright_m = scale.pixel_m / float(np.hypot(1.0, scale.face_slope))
    return VapourColumn(
        first_s=float(times_s[0]),
        along_m=place_of(scale, column_px=middle_px, row_px=row_px).along_m,
        width_m=0.5 * float(soft_px + np.sqrt(soft_px * (soft_px - 4.0 * lost_px))) * scale.pixel_m,
        length_max_m=float(length_px[longest]) * upright_m,
        times_s=tuple(times_s.tolist()),
        lengths_m=tuple((length_px * upright_m).tolist()),
    )


def _face_px(patches: NDArray[np.void], scale: FilmScale) -> NDArray[np.float64]:
    """Give the face's row at each patch's mean column."""
    return np.asarray(scale.face_row_px + scale.face_slope * patches["column"])
