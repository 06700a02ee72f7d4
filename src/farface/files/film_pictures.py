"""Read films kept as a folder of PNG pictures, one a frame."""

import math
import re
import struct
from collections.abc import Iterator, Sequence
from functools import partial
from pathlib import Path
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from farface.files.film_grey import bits_used, to_grey
from farface.files.film_source import MOST_PIXELS, FilmEnds, FilmSource, Frame, Span, even_spans
from farface.kernel import Malformed

SAMPLED: Final = 16  # pictures from which the depth is told
_DEEP: Final = re.compile(r"16|48|64")  # in the name of a format of pixels


def open_pictures(folder: Path) -> FilmSource:
    """Open a folder of PNG pictures as a film, in the order of the numbers in their names.

    Raises `Malformed` when it holds none, or when the first cannot be read.
    """
    paths = sorted(folder.glob("*.png"), key=_numbers)
    if not paths:
        raise Malformed(f"the folder {folder.name} holds no PNG pictures. Give the folder that does.")
    first = _levels(paths[0])
    if first is None:
        raise Malformed(f"{paths[0].name} is damaged or no PNG picture. Leave it out, or copy it again.")
    bits = 8
    if first.dtype.itemsize > 1:
        spread = (_levels(path) for path in paths[:: max(1, len(paths) // SAMPLED)])
        bits = bits_used(np.stack([one for one in spread if one is not None and one.shape == first.shape]))
    return FilmSource(
        width_px=first.shape[1],
        height_px=first.shape[0],
        playback_hz=None,
        promised=len(paths),
        frames=partial(_frames, paths, bits),
        spans=partial(even_spans, len(paths)),
    )


def _numbers(path: Path) -> tuple[tuple[int, ...], str]:
    """Order names by the numbers in them, so that picture 10 follows picture 9."""
    return tuple(map(int, re.findall(r"\d+", path.stem))), path.name


def _frames(paths: Sequence[Path], bits: int, span: Span) -> Iterator[Frame]:
    for path in paths[span.start : span.end]:
        levels = _levels(path)
        if levels is None:
            raise FilmEnds(f"{path.name} is damaged")
        yield to_grey(levels, bits)


def _levels(path: Path) -> NDArray[np.unsignedinteger] | None:
    """Decode one picture into grey levels of 8 or 16 bits; None if it cannot be."""
    import av

    content = path.read_bytes()
    if len(content) < 24 or math.prod(struct.unpack_from(">II", content, 16)) > MOST_PIXELS:
        return None
    codec: Any = av.CodecContext.create("png", "r")
    codec.thread_count = 1
    try:
        frames = codec.decode(av.Packet(content))
    except av.error.FFmpegError:
        return None
    if not frames:
        return None
    deep = bool(_DEEP.search(frames[0].format.name))
    grey = frames[0].reformat(format="gray16le" if deep else "gray").to_ndarray()
    return np.asarray(grey, dtype=np.uint16 if deep else np.uint8)
