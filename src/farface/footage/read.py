"""Read a film: frames in, flashes and bubbles out, in memory that does not grow with its length."""

import itertools
from collections.abc import Iterable, Iterator
from typing import Final

import numpy as np
from numpy.typing import NDArray

from farface.footage.background import Background, brightened, learn_background
from farface.footage.components import find_patches
from farface.footage.coordinates import check_scale
from farface.footage.discs import discs_of
from farface.footage.flashes import link_flashes
from farface.footage.lamp import even_out, light_ratio, slow_change_grey
from farface.footage.runs import BRIGHT
from farface.footage.tracks import link_bubbles
from farface.kernel import Malformed
from farface.records import FilmReading, FilmScale

LEARNED_FRAMES: Final = 64
BUFFER_BYTES: Final = 64 * 1024 * 1024
STRANGE_SHARE: Final = 0.5


def read_footage(frames: Iterable[NDArray[np.uint8]], scale: FilmScale, film: str) -> FilmReading:
    """Read the flashes and bubbles of a film given frame by frame, each of shape (row, column), uint8.

    The background is learnt from the first `LEARNED_FRAMES` (fewer if they are huge); the lamp's flicker is
    evened out and its drift followed. Where half of a frame's pixels still differ in most frames of a
    stretch the camera has moved, and reading stops there with a sentence in ``stopped``. Raises `Malformed`
    when frames are not alike, `Missing` when there are too few, `OutOfRange` for an impossible scale.
    """
    check_scale(scale)
    background: Background | None = None
    bright, dark = [], []
    done, stopped = 0, None
    for stretch in _stretches(frames, film):
        background, stretch = _steadied(stretch, background, scale)
        patches, odd = find_patches(stretch, background)
        if float(np.median(odd)) > STRANGE_SHARE * background.grey.size:
            stopped = f"the picture changed at frame {done}: the camera moved, so the rest was not read"
            break
        discs = discs_of(stretch, background, patches)
        discs["frame"] += done
        patches["frame"] += done
        dark.append(discs)
        bright.append(patches[patches["kind"] == BRIGHT])
        done += stretch.shape[0]
    if background is None:
        raise Malformed(f"{film} has no frames. Give a film with at least one second of the process.")
    return FilmReading(
        film=film,
        scale=scale,
        frames=done,
        duration_s=done / scale.frame_hz,
        flashes=link_flashes(np.concatenate(bright), scale) if bright else (),
        bubbles=link_bubbles(np.concatenate(dark), scale) if dark else (),
        stopped=stopped,
    )


def _steadied(
    stretch: NDArray[np.uint8], background: Background | None, scale: FilmScale
) -> tuple[Background, NDArray[np.uint8]]:
    """Even out the lamp over a stretch of frames, and follow its drift; the first stretch is learnt from."""
    known = learn_background(stretch, scale) if background is None else background
    typical_grey = float(np.median(known.grey[::8, ::8]))
    evened = even_out(stretch, light_ratio(stretch, known.grey), typical_grey)
    if background is None:
        return (known if evened is stretch else learn_background(evened, scale)), evened
    change_grey = slow_change_grey(evened, known.grey)
    return (known if change_grey is None else brightened(known, change_grey)), evened


def _stretches(frames: Iterable[NDArray[np.uint8]], film: str) -> Iterator[NDArray[np.uint8]]:
    """Gather frames into stretches of shape (time, row, column)."""
    source = iter(frames)
    first = next(source, None)
    if first is None:
        return
    length = max(8, min(LEARNED_FRAMES, BUFFER_BYTES // max(1, first.size)))
    source = itertools.chain([first], source)
    while gathered := list(itertools.islice(source, length)):
        for frame in gathered:
            if frame.dtype != np.uint8 or frame.ndim != 2 or frame.shape != first.shape:
                raise Malformed(
                    f"{film} holds a frame of shape {frame.shape} and type {frame.dtype} among frames of "
                    f"shape {first.shape}; grey frames of one size in 8 bits can be read. Convert the film."
                )
        yield np.stack(gathered)
