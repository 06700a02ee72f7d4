"""Read films kept as TIFF stacks: one picture a page, not compressed, as high-speed cameras write them."""

import contextlib
import mmap
import struct
from collections.abc import Iterator
from functools import partial
from itertools import islice
from pathlib import Path
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from farface.files.film_grey import bits_used, to_grey
from farface.files.film_source import FilmEnds, FilmSource, Frame, Span, even_spans
from farface.kernel import Malformed

Levels = NDArray[np.unsignedinteger]

# Tags of a page [tiff6].
WIDTH, HEIGHT, BITS, COMPRESSION, PHOTOMETRIC = 256, 257, 258, 259, 262
OFFSETS, SAMPLES, ROWS, COUNTS, PLANES = 273, 277, 278, 279, 284
WHITE_IS_ZERO, BLACK_IS_ZERO, RGB = 0, 1, 2
_COLOURS: Final = (1, 3, 4)
_TYPES: Final = {1: "B", 3: "H", 4: "I", 16: "Q"}  # of the values these tags may have
SAMPLED: Final = 16  # pages from which the depth is told


class _Form(NamedTuple):
    """Hold how numbers are written in a file: their order, and the kinds of counts and of offsets."""

    order: str
    amount: str
    offset: str
    first_at: int

    @property
    def entry(self) -> struct.Struct:
        return struct.Struct(f"{self.order}HH{self.offset}{struct.calcsize(self.offset)}s")


_FORMS: Final = {42: ("H", "I", 4), 43: ("Q", "Q", 8)}  # the classic form, and the one for big files


def open_tiff(path: Path) -> FilmSource:
    """Open a TIFF stack, grey or RGB, of 8 or 16 bits, classic or big.

    Raises `Malformed` for what is no TIFF, or one that is compressed, tiled, or of another depth.
    """
    data = _map(path)
    form, first = _form(data, path)
    pages = (page for _, page in _pages(data, form, first))
    page = next(pages, None)
    if page is None:
        raise Malformed(f"{path.name} is a TIFF without a picture, or cut off. Copy it again.")
    picture = _picture(data, form, page, path)
    bits = 8
    if picture.dtype.itemsize > 1:
        sample = [picture, *(_picture(data, form, later, path) for later in islice(pages, SAMPLED))]
        bits = bits_used(np.stack([one for one in sample if one.shape == picture.shape]))
    return FilmSource(
        width_px=picture.shape[1],
        height_px=picture.shape[0],
        playback_hz=None,
        promised=None,
        frames=partial(_frames, data, form, first, path, bits),
        spans=partial(_spans, data, form, first),
    )


def _map(path: Path) -> memoryview:
    with path.open("rb") as source:
        return memoryview(mmap.mmap(source.fileno(), 0, access=mmap.ACCESS_READ))


def _form(data: memoryview, path: Path) -> tuple[_Form, int]:
    """Read the header: the form of the numbers, and where the first page is described."""
    order = {b"II": "<", b"MM": ">"}.get(bytes(data[:2]), "")
    magic = struct.unpack_from(f"{order}H", data, 2)[0] if order and len(data) >= 16 else 0
    if magic in _FORMS:
        form = _Form(order, *_FORMS[magic])
        return form, struct.unpack_from(order + form.offset, data, form.first_at)[0]
    raise Malformed(f"{path.name} is no TIFF, whatever its name says. Give the film under its own name.")


Page = dict[int, tuple[int, ...]]


def _pages(data: memoryview, form: _Form, first: int, done: int = 0) -> Iterator[tuple[int, Page]]:
    """Read where pages are and their tags, in order; ends where the file does, or comes back to a page.

    ``done`` is how many pages come before the ``first``.
    """
    at, seen = first, set[int]()
    while at and at not in seen and at + struct.calcsize(form.order + form.amount) <= len(data):
        seen.add(at)
        cut_off = FilmEnds(f"page {done + len(seen)} is cut off")
        start, entries, end = _page_place(data, form, at)
        if end + struct.calcsize(form.offset) > len(data):
            raise cut_off
        try:
            yield at, dict(_tags(data, form, start, entries))
        except struct.error as error:
            raise cut_off from error
        at = struct.unpack_from(form.order + form.offset, data, end)[0]
    if at and at not in seen:
        raise FilmEnds(f"the file ends after {done + len(seen)} pages, but names another")


def _page_place(data: memoryview, form: _Form, at: int) -> tuple[int, int, int]:
    """Say where a page's tags start, how many there are, and where they end."""
    start = at + struct.calcsize(form.order + form.amount)
    entries = struct.unpack_from(form.order + form.amount, data, at)[0]
    return start, entries, start + entries * form.entry.size


def _tags(data: memoryview, form: _Form, at: int, entries: int) -> Iterator[tuple[int, tuple[int, ...]]]:
    for number in range(entries):
        tag, kind, count, value = form.entry.unpack_from(data, at + number * form.entry.size)
        if kind not in _TYPES or tag > PLANES or count == 0:
            continue
        values = struct.Struct(f"{form.order}{count}{_TYPES[kind]}")
        if values.size <= len(value):
            yield tag, values.unpack_from(value)
        else:
            yield tag, values.unpack_from(data, struct.unpack(form.order + form.offset, value)[0])


def _spans(data: memoryview, form: _Form, first: int) -> tuple[Span, ...]:
    """Cut at every so many pages, as far as pages can be followed and none comes twice."""
    offsets: list[int | None] = []
    with contextlib.suppress(FilmEnds):
        for at, _ in _pages(data, form, first):
            offsets.append(at)
    spans = even_spans(len(offsets))
    starts = [first if span.start is None else offsets[span.start] for span in spans]
    return tuple(
        Span(first=span.first, start=start, end=end)
        for span, start, end in zip(spans, starts, [*starts[1:], _back(data, form, offsets)], strict=True)
    )


def _back(data: memoryview, form: _Form, offsets: list[int | None]) -> int | None:
    """Find the page that the last one leads back to, if it does."""
    if not offsets or offsets[-1] is None:
        return None
    _, _, end = _page_place(data, form, offsets[-1])
    following = struct.unpack_from(form.order + form.offset, data, end)[0]
    return following if following in offsets else None


def _frames(data: memoryview, form: _Form, first: int, path: Path, bits: int, span: Span) -> Iterator[Frame]:
    start = first if span.start is None else span.start
    for at, page in _pages(data, form, start, span.first):
        if at == span.end and at != start:
            return
        yield to_grey(_picture(data, form, page, path), bits)


def _picture(data: memoryview, form: _Form, page: Page, path: Path) -> Levels:
    """Take a page's levels, shape (row, column) or (row, column, colour), black at zero."""
    width, height, colours = _checked(page, path)
    depth = page.get(BITS, (1,))[0]
    kind = np.dtype(np.uint8) if depth == 8 else np.dtype(f"{form.order}u2")
    parts = [data[at : at + count] for at, count in zip(page[OFFSETS], page[COUNTS], strict=False)]
    levels = parts[0] if len(parts) == 1 else b"".join(parts)
    wanted = width * height * colours
    if len(levels) < wanted * kind.itemsize:
        raise FilmEnds("a page is cut off")
    shape = (height, width) if colours == 1 else (height, width, colours)
    picture = np.frombuffer(levels, kind, wanted).reshape(shape)
    if page.get(PHOTOMETRIC, (BLACK_IS_ZERO,))[0] == WHITE_IS_ZERO:
        return np.asarray(np.iinfo(kind).max - picture)
    return picture


def _checked(page: Page, path: Path) -> tuple[int, int, int]:
    """Give width, height and colours of a page. Raises `Malformed` for what is not read."""
    colours = page.get(SAMPLES, (1,))[0]
    faults = {
        "is compressed": page.get(COMPRESSION, (1,))[0] != 1,
        "holds tiles in place of strips": OFFSETS not in page or COUNTS not in page,
        "has a depth other than 8 or 16 bits": not set(page.get(BITS, (1,))) <= {8, 16},
        "is neither grey nor RGB": page.get(PHOTOMETRIC, (BLACK_IS_ZERO,))[0] > RGB
        or colours not in _COLOURS,
        "keeps its colours apart": colours > 1 and page.get(PLANES, (1,))[0] != 1,
        "tells no size": WIDTH not in page or HEIGHT not in page,
    }
    for fault, found in faults.items():
        if found:
            raise Malformed(
                f"{path.name} {fault}; TIFF films are read when they are grey or RGB, 8 or 16 bits, in "
                "strips that are not compressed. Save it so."
            )
    return page[WIDTH][0], page[HEIGHT][0], colours
