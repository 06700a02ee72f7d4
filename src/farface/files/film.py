"""Open films of any kind frame by frame as grey levels."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from farface.files.film_coded import open_coded
from farface.files.film_pictures import open_pictures
from farface.files.film_source import MOST_PIXELS, WHOLE, FilmEnds, FilmSource, Frame, Span
from farface.files.film_stack import open_npy, open_raw
from farface.files.film_tiff import open_tiff
from farface.kernel import Malformed, Missing

READERS: Final[dict[str, Callable[[Path], FilmSource]]] = {
    ".mp4": open_coded,
    ".mov": open_coded,
    ".mkv": open_coded,
    ".avi": open_coded,
    ".tif": open_tiff,
    ".tiff": open_tiff,
    ".npy": open_npy,
    ".raw": open_raw,
}


@dataclass(slots=True, kw_only=True)
class Film:
    """Hold an opened film: its size, its rate of playback (which is not the camera's), its frames.

    ``promised`` is the least number of frames that its header promises, if it does. ``stopped`` is None until
    `frames` ran into the end of what can be read before the end that was promised; then it says so. A film
    with the glass below is ``upside_down``: its frames are turned about, so that the bath lies below.
    """

    path: Path
    source: FilmSource
    upside_down: bool = False
    stopped: str | None = None

    @property
    def width_px(self) -> int:
        """Give the width of a frame as it is stored, before any turning."""
        return self.source.width_px

    @property
    def height_px(self) -> int:
        """Give the height of a frame as it is stored, before any turning."""
        return self.source.height_px

    @property
    def playback_hz(self) -> float | None:
        """Give the rate of playback, where the film has one."""
        return self.source.playback_hz

    @property
    def promised(self) -> int | None:
        """Give the least number of frames that the header promises."""
        return self.source.promised

    @property
    def notes(self) -> tuple[str, ...]:
        """Give the sentences on what is odd about the film, complete once it was cut into spans."""
        return tuple(self.source.notes)

    def spans(self) -> tuple[Span, ...]:
        """Cut the film into pieces that can be read by themselves, always the same ones."""
        return self.source.spans()

    def frames(self, span: Span = WHOLE) -> Iterator[Frame]:
        """Read the frames from the first on, each of shape (row, column), uint8, 0 black to 255 white.

        Whether as many came as were promised is asked of a `WHOLE` film only; see `fewer_than_promised`.
        """
        self.stopped = None
        read = 0
        try:
            for frame in self.source.frames(span):
                read += 1
                yield frame[::-1] if self.upside_down else frame
        except FilmEnds as end:
            self.stopped = str(end)
        if self.stopped is None and span == WHOLE:
            self.stopped = self.fewer_than_promised(read)

    def fewer_than_promised(self, read: int) -> str | None:
        """Say that the film promised more frames than could be read, if it did."""
        if self.promised is None or read >= self.promised:
            return None
        return f"only {read} of the {self.promised} frames that the file promises could be read"


def open_film(path: Path) -> Film:
    """Open a film: a file of one of `READERS`, or a folder of PNG pictures.

    The playback rate says nothing of the camera's true rate, which the person must give. Raises `Missing`
    for no such film and `Malformed` for one that holds none.
    """
    if not path.exists():
        raise Missing(f"there is no film {path.name} in {path.parent}. Check the name.")
    if path.is_file() and path.stat().st_size == 0:
        raise Malformed(f"{path.name} is empty; a film has a frame or more. Copy it again from the camera.")
    try:
        source = open_pictures(path) if path.is_dir() else _reader(path)(path)
    except FilmEnds as end:
        raise Malformed(f"{path.name} cannot be read: {end}. Copy it again from the camera.") from end
    if not 0 < source.width_px * source.height_px <= MOST_PIXELS:
        raise Malformed(
            f"{path.name} says its frames are {source.width_px} by {source.height_px} pixels; up to "
            f"{MOST_PIXELS // 1024**2} megapixels are believed. Copy it again from the camera, or crop it."
        )
    return Film(path=path, source=source)


def _reader(path: Path) -> Callable[[Path], FilmSource]:
    reader = READERS.get(path.suffix.lower())
    if reader is None:
        raise Malformed(
            f"{path.name} is no film that can be read: {', '.join(READERS)} can, and folders of "
            "PNG pictures. Convert it to one."
        )
    return reader
