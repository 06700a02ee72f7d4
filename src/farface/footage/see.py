"""See what a stretch of frames shows: discs, bright patches, columns, with the lamp evened out.

A stretch is seen by itself, given the film's empty frame, so stretches may be seen in any order, on any
thread and on any machine, and show the same.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from farface.footage.background import Background, brightened, learn_background
from farface.footage.columns import are_columns
from farface.footage.components import find_patches
from farface.footage.discs import discs_of
from farface.footage.lamp import even_out, light_ratio, slow_change_grey
from farface.footage.mirror import mirrored_share
from farface.footage.runs import BRIGHT
from farface.kernel import Malformed
from farface.records import FilmScale

LEARNED_FRAMES: Final = (
    64  # from which the empty frame is learnt, and of which a stretch has at least as many
)
STRETCH_BYTES: Final = 32 * 1024 * 1024
FEWEST_FRAMES: Final = 8
STRANGE_SHARE: Final = 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """Hold what one stretch of frames shows, frames counted from its own first."""

    frames: int
    discs: NDArray[np.void]
    bright: NDArray[np.void]
    columns: NDArray[np.void]
    mirrored_share: NDArray[np.float64]
    strange: bool


def learn_empty(first: NDArray[np.uint8], scale: FilmScale) -> Background:
    """Learn the empty frame from a film's first frames, shape (time, row, column), their lamp evened out.

    Raises `Missing` where they are too few.
    """
    known = learn_background(first, scale)
    evened = even_out(first, light_ratio(first, known.grey), _typical_grey(known))
    return known if evened is first else learn_background(evened, scale)


def see_stretch(stretch: NDArray[np.uint8], empty: Background, scale: FilmScale) -> Seen:
    """See a stretch of frames, shape (time, row, column): evened out, and against its own slow light.

    ``strange`` says that half of the pixels differ from the empty frame in most of the frames.
    """
    evened = even_out(stretch, light_ratio(stretch, empty.grey), _typical_grey(empty))
    change_grey = slow_change_grey(evened, empty.grey)
    background = empty if change_grey is None else brightened(empty, change_grey)
    patches, odd = find_patches(evened, background)
    columns = are_columns(patches, scale)
    discs = discs_of(evened, background, patches[~columns], scale)
    return Seen(
        frames=len(stretch),
        discs=discs,
        bright=patches[patches["kind"] == BRIGHT],
        columns=patches[columns],
        mirrored_share=mirrored_share(evened, background, discs, scale),
        strange=float(np.median(odd)) > STRANGE_SHARE * background.grey.size,
    )


def stretches(frames: Iterable[NDArray[np.uint8]], film: str) -> Iterator[NDArray[np.uint8]]:
    """Gather frames, each of shape (row, column), into stretches of shape (time, row, column).

    The last one takes what is left over, since a light that changes slowly is not told from a few frames. An
    array of frames is only cut. Raises `Malformed` when frames are not alike.
    """
    if isinstance(frames, np.ndarray) and frames.ndim == 3 and frames.dtype == np.uint8 and len(frames):
        length = stretch_frames(frames[0].size)
        ends = [*range(length, len(frames) - length + 1, length), len(frames)]
        yield from (frames[a:b] for a, b in zip([0, *ends], ends, strict=False))
        return
    gathered: list[NDArray[np.uint8]] = []
    for frame in frames:
        first = gathered[0] if gathered else frame
        if frame.dtype != np.uint8 or frame.ndim != 2 or frame.shape != first.shape:
            raise Malformed(
                f"{film} holds a frame of shape {frame.shape} and type {frame.dtype} among frames of "
                f"shape {first.shape}; grey frames of one size in 8 bits can be read. Convert the film."
            )
        gathered.append(frame)
        length = stretch_frames(frame.size)
        if len(gathered) == 2 * length:
            yield np.stack(gathered[:length])
            del gathered[:length]
    if gathered:
        yield np.stack(gathered)


def stretch_frames(pixels: int) -> int:
    """Say how many frames of so many pixels make a stretch."""
    return max(FEWEST_FRAMES, min(LEARNED_FRAMES, STRETCH_BYTES // max(1, pixels)))


def _typical_grey(background: Background) -> float:
    return float(np.median(background.grey[::8, ::8]))
