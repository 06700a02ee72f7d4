"""Read films kept as one array: NPY, and headerless raw levels with a TOML file beside them."""

from collections.abc import Iterator
from functools import partial
from pathlib import Path
from tokenize import TokenError
from typing import Final

import numpy as np
from numpy.typing import NDArray

from farface.files.film_grey import bits_used, to_grey
from farface.files.film_source import FilmSource, Frame, Span, even_spans
from farface.files.raw_layout import RawLayout, layout_of, read_layout
from farface.kernel import Malformed

Levels = NDArray[np.unsignedinteger]

# What NumPy raises on a header that is damaged: it reads it as a literal of Python.
_UNREADABLE: Final = (
    *(ValueError, OSError, EOFError, SyntaxError, TokenError, TypeError, OverflowError),
    *(RecursionError, MemoryError),
)
SAMPLED: Final = 32  # frames, evenly spread, from which the depth is told


def open_npy(path: Path) -> FilmSource:
    """Open an array of shape (time, row, column) or (time, row, column, 3), 8 or 16 bits unsigned."""
    stack = _map_npy(path)
    return _source(stack, bits_used(_sample(stack)) if stack.dtype.itemsize > 1 else 8)


def open_raw(path: Path) -> FilmSource:
    """Open raw levels; the file of the same name ending in .toml tells their size and depth."""
    layout = read_layout(layout_of(path))
    stack, spare = _map_raw(path, layout)
    source = _source(stack, layout.bits)
    if spare:
        source.notes.append(f"{path.name} ends in {spare} bytes that make no whole frame.")
    return source


def _source(stack: Levels, bits: int) -> FilmSource:
    return FilmSource(
        width_px=stack.shape[2],
        height_px=stack.shape[1],
        playback_hz=None,
        promised=len(stack),
        frames=partial(_frames, stack, bits),
        spans=partial(even_spans, len(stack)),
    )


def _frames(stack: Levels, bits: int, span: Span) -> Iterator[Frame]:
    for picture in stack[span.start : span.end]:
        yield to_grey(picture, bits)


def _sample(stack: Levels) -> Levels:
    return stack[:: max(1, len(stack) // SAMPLED)]


def _map_npy(path: Path) -> Levels:
    """Map an NPY stack into memory without reading it."""
    wanted = (
        "an .npy film is one array of shape (time, row, column), or with 3 colours at the end, in 8- or "
        "16-bit unsigned integers"
    )
    try:
        stack = np.load(path, mmap_mode="r", allow_pickle=False)
    except _UNREADABLE as error:
        raise Malformed(f"{path.name} is cut off or no NumPy array; {wanted}. Save it again.") from error
    shaped = stack.ndim == 3 or (stack.ndim == 4 and stack.shape[3] == 3)
    if stack.dtype.kind != "u" or stack.dtype.itemsize > 2 or not shaped or 0 in stack.shape:
        raise Malformed(f"{path.name} holds {stack.dtype} of shape {stack.shape}; {wanted}. Convert it.")
    return np.asarray(stack) if not isinstance(stack, np.memmap) else stack


def _map_raw(path: Path, layout: RawLayout) -> tuple[Levels, int]:
    """Map raw frames into memory; return them and how many bytes are left over at the end."""
    size = path.stat().st_size - layout.header_bytes
    one = layout.frame_bytes + layout.gap_bytes
    count = max(0, size + layout.gap_bytes) // one
    if count == 0:
        raise Malformed(
            f"{path.name} holds {max(0, size)} bytes of levels, but one frame of {layout.width_px} by "
            f"{layout.height_px} pixels takes {layout.frame_bytes}. Check the size in {path.stem}.toml."
        )
    deep = "<u2" if layout.byte_order == "little" else ">u2"
    kind = np.dtype(np.uint8 if layout.bits == 8 else deep)
    shape = (count, layout.height_px, layout.width_px)
    strides = (one, layout.width_px * kind.itemsize, kind.itemsize)
    flat = np.memmap(path, dtype=np.uint8, mode="r", offset=layout.header_bytes)
    stack = np.ndarray(shape, dtype=kind, buffer=flat, strides=strides)
    return stack, max(0, size - count * one)
