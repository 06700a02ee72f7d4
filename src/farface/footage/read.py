"""Read a film: frames in, flashes and bubbles out, in memory that does not grow with its length."""

import itertools
from collections import deque
from collections.abc import Iterable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from farface.footage.background import Background, brightened, learn_background
from farface.footage.columns import are_columns, link_columns, without_columns
from farface.footage.components import PATCH, find_patches
from farface.footage.coordinates import check_scale
from farface.footage.discs import DISC, discs_of
from farface.footage.events import FilmEvents
from farface.footage.flashes import link_flashes
from farface.footage.lamp import even_out, light_ratio, slow_change_grey
from farface.footage.mirror import MIRRORED_SHARE, mirrored_share
from farface.footage.runs import BRIGHT
from farface.footage.tracks import link_bubbles
from farface.kernel import Malformed
from farface.records import FilmReading, FilmScale

LEARNED_FRAMES: Final = 64
BUFFER_BYTES: Final = 64 * 1024 * 1024
STRANGE_SHARE: Final = 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class _Seen:
    """Hold what one stretch of frames shows, frames counted from its own first."""

    frames: int
    discs: NDArray[np.void]
    bright: NDArray[np.void]
    columns: NDArray[np.void]
    mirrored: NDArray[np.float64]
    strange: bool


def read_footage(
    frames: Iterable[NDArray[np.uint8]], scale: FilmScale, film: str, *, threads: int = 1
) -> FilmReading:
    """Read the flashes and bubbles of a film, as `read_events` does, and nothing else."""
    return read_events(frames, scale, film, threads=threads).reading


def read_events(
    frames: Iterable[NDArray[np.uint8]], scale: FilmScale, film: str, *, threads: int = 1
) -> FilmEvents:
    """Read all events of a film given frame by frame, each of shape (row, column), uint8.

    The background is learnt from the first `LEARNED_FRAMES` (fewer if they are huge); the lamp's flicker is
    evened out and its drift followed. Where half of a frame's pixels still differ in most frames of a
    stretch the camera has moved, and reading stops there with a sentence in ``stopped``. The number of
    threads changes nothing in the result. Raises `Malformed` when frames are not alike, `Missing` when there
    are too few, `OutOfRange` for an impossible scale.
    """
    check_scale(scale)
    seen: list[_Seen] = []
    done, stopped = 0, None
    for part in _see_all(frames, scale, film, threads):
        if part.strange:
            stopped = f"the picture changed at frame {done}: the camera moved, so the rest was not read"
            break
        for table in (part.discs, part.bright, part.columns):
            table["frame"] += done
        seen.append(part)
        done += part.frames
    if not seen and stopped is None:
        raise Malformed(f"{film} has no frames. Give a film with at least one second of the process.")
    return _events(seen, scale, film, done, stopped)


def _events(seen: list[_Seen], scale: FilmScale, film: str, done: int, stopped: str | None) -> FilmEvents:
    """Join what stretches show into events."""
    linked = link_bubbles(np.concatenate([part.discs for part in seen] or [np.zeros(0, DISC)]), scale)
    bright = np.concatenate([part.bright for part in seen] or [np.zeros(0, PATCH)])
    tall = np.concatenate([part.columns for part in seen] or [np.zeros(0, PATCH)])
    columns = link_columns(tall, scale)
    mirrored = np.concatenate([part.mirrored for part in seen] or [np.zeros(0)])
    compared = mirrored[np.isfinite(mirrored)]
    reading = FilmReading(
        film=film,
        scale=scale,
        frames=done,
        duration_s=done / scale.frame_hz,
        flashes=link_flashes(bright, scale),
        bubbles=without_columns(linked.bubbles, columns, frame_s=1.0 / scale.frame_hz),
        stopped=stopped,
    )
    return FilmEvents(
        reading=reading,
        columns=columns,
        rebounds=linked.rebounds,
        lasting=linked.lasting,
        mirrored_share=float(np.mean(compared > MIRRORED_SHARE)) if compared.size else None,
    )


def _see_all(
    frames: Iterable[NDArray[np.uint8]], scale: FilmScale, film: str, threads: int
) -> Iterator[_Seen]:
    """See stretch after stretch, in order, up to ``threads`` at once while the next frames are fetched."""
    background: Background | None = None
    with ThreadPoolExecutor(max_workers=threads) as pool:
        running: deque[Future[_Seen]] = deque()
        for stretch in _stretches(frames, film):
            background, evened = _steadied(stretch, background, scale)
            running.append(pool.submit(_see, evened, background, scale))
            if len(running) > threads:
                yield running.popleft().result()
        while running:
            yield running.popleft().result()


def _see(stretch: NDArray[np.uint8], background: Background, scale: FilmScale) -> _Seen:
    patches, odd = find_patches(stretch, background)
    columns = are_columns(patches, scale)
    discs = discs_of(stretch, background, patches[~columns])
    return _Seen(
        frames=len(stretch),
        discs=discs,
        bright=patches[patches["kind"] == BRIGHT],
        columns=patches[columns],
        mirrored=mirrored_share(stretch, background, discs, scale),
        strange=float(np.median(odd)) > STRANGE_SHARE * background.grey.size,
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
    """Gather frames into stretches of shape (time, row, column); an array of them is only cut."""
    if isinstance(frames, np.ndarray) and frames.ndim == 3 and frames.dtype == np.uint8 and len(frames):
        length = _stretch_frames(frames[0].size)
        yield from (frames[at : at + length] for at in range(0, len(frames), length))
        return
    source = iter(frames)
    first = next(source, None)
    if first is None:
        return
    length = _stretch_frames(first.size)
    source = itertools.chain([first], source)
    while gathered := list(itertools.islice(source, length)):
        for frame in gathered:
            if frame.dtype != np.uint8 or frame.ndim != 2 or frame.shape != first.shape:
                raise Malformed(
                    f"{film} holds a frame of shape {frame.shape} and type {frame.dtype} among frames of "
                    f"shape {first.shape}; grey frames of one size in 8 bits can be read. Convert the film."
                )
        yield np.stack(gathered)


def _stretch_frames(pixels: int) -> int:
    """Say how many frames of so many pixels make a stretch."""
    return max(8, min(LEARNED_FRAMES, BUFFER_BYTES // max(1, pixels)))
