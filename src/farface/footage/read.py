"""Read a film: frames in, flashes and bubbles out, in memory that does not grow with its length."""

from collections import deque
from collections.abc import Iterable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor

import numpy as np
from numpy.typing import NDArray

from farface.footage.background import Background
from farface.footage.columns import link_columns, without_columns
from farface.footage.components import PATCH
from farface.footage.coordinates import check_scale
from farface.footage.discs import DISC
from farface.footage.events import FilmEvents
from farface.footage.flashes import link_flashes
from farface.footage.mirror import MIRRORED_SHARE
from farface.footage.see import LEARNED_FRAMES, Seen, learn_empty, see_stretch, stretches
from farface.footage.tracks import link_bubbles
from farface.kernel import Malformed
from farface.records import FilmReading, FilmScale


def read_footage(
    frames: Iterable[NDArray[np.uint8]], scale: FilmScale, film: str, *, threads: int = 1
) -> FilmReading:
    """Read the flashes and bubbles of a film, as `read_events` does, and nothing else."""
    return read_events(frames, scale, film, threads=threads).reading


def read_events(
    frames: Iterable[NDArray[np.uint8]], scale: FilmScale, film: str, *, threads: int = 1
) -> FilmEvents:
    """Read all events of a film given frame by frame, each of shape (row, column), uint8.

    The empty frame is learnt from the first `LEARNED_FRAMES` (fewer if they are huge); the lamp's flicker is
    evened out and its drift followed. The number of threads changes nothing in the result. Raises `Malformed`
    when frames are not alike, `Missing` when there are too few, `OutOfRange` for an impossible scale.
    """
    check_scale(scale)
    return join_events(_see_all(frames, scale, film, threads), scale, film)


def join_events(parts: Iterable[Seen], scale: FilmScale, film: str) -> FilmEvents:
    """Join what the stretches of a film show, in order, into its events.

    Where half of a frame's pixels differ in most frames of a stretch the camera has moved, and reading stops
    there with a sentence in ``stopped``. Raises `Malformed` where there is no frame at all.
    """
    seen: list[Seen] = []
    done, stopped = 0, None
    for part in parts:
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


def _events(seen: list[Seen], scale: FilmScale, film: str, done: int, stopped: str | None) -> FilmEvents:
    linked = link_bubbles(np.concatenate([part.discs for part in seen] or [np.zeros(0, DISC)]), scale)
    bright = np.concatenate([part.bright for part in seen] or [np.zeros(0, PATCH)])
    tall = np.concatenate([part.columns for part in seen] or [np.zeros(0, PATCH)])
    columns = link_columns(tall, scale)
    mirrored = np.concatenate([part.mirrored_share for part in seen] or [np.zeros(0)])
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
) -> Iterator[Seen]:
    """See stretch after stretch, in order, up to ``threads`` at once while the next frames are fetched."""
    empty: Background | None = None
    with ThreadPoolExecutor(max_workers=threads) as pool:
        running: deque[Future[Seen]] = deque()
        for stretch in stretches(frames, film):
            empty = learn_empty(stretch[:LEARNED_FRAMES], scale) if empty is None else empty
            running.append(pool.submit(see_stretch, stretch, empty, scale))
            if len(running) > threads:
                yield running.popleft().result()
        while running:
            yield running.popleft().result()
