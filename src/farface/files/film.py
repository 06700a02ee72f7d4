"""Open films frame by frame as grey levels, and write them."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from itertools import chain
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, Literal

import numpy as np
from numpy.typing import NDArray

from farface.kernel import Malformed, Missing

if TYPE_CHECKING:
    import av

CODED: Final = (".mp4", ".mov", ".mkv", ".avi")
STACKED: Final = (".npy",)
MOST_PIXELS: Final = 64 * 1024 * 1024  # of a frame: a header that promises more is damaged

# Formats whose first plane is brightness in 8 bits; any other is converted by the decoder's own library.
_LUMA_FIRST: Final = frozenset(
    {"gray", "nv12", "yuv420p", "yuv422p", "yuv444p", "yuvj420p", "yuvj422p", "yuvj444p"}
)
_LIMITED, _FULL = 1, 2  # colour ranges: 16 to 235, and 0 to 255
_EXPANDED: Final = np.clip(np.rint((np.arange(256) - 16) * 255 / 219), 0, 255).astype(np.uint8)

# Encoders and their settings, the first that this build of PyAV has being used.
_ENCODERS: Final = {
    "exact": (("libx264", {"qp": "0", "preset": "ultrafast"}),),
    "near": (("libx264", {"qp": "18", "preset": "ultrafast"}), ("mjpeg", {"qmin": "1", "qmax": "1"})),
}


@dataclass(slots=True, kw_only=True)
class Film:
    """Hold an opened film: its size, its rate of playback (which is not the camera's), its frames.

    ``promised`` is the least number of frames that its header promises, if it does. ``stopped`` is None until
    `frames` ran into the end of what can be read before the end that was promised; then it says so.
    """

    path: Path
    width_px: int
    height_px: int
    playback_hz: float | None
    promised: int | None
    stopped: str | None = None

    def frames(self) -> Iterator[NDArray[np.uint8]]:
        """Read the frames from the first on, each of shape (row, column), uint8, 0 black to 255 white."""
        self.stopped = None
        source = _stack_frames if self.path.suffix.lower() in STACKED else _coded_frames
        read = 0
        for frame in source(self):
            read += 1
            yield frame
        if self.stopped is None and self.promised is not None and read < self.promised:
            self.stopped = f"the file ends after {read} of {self.promised} frames"


def open_film(path: Path) -> Film:
    """Open a film: MP4, MOV, MKV or AVI, or an NPY stack of shape (time, row, column), uint8.

    The playback rate says nothing of the camera's true rate, which the person must give. Raises `Missing`
    for no such file and `Malformed` for one that holds no film.
    """
    if not path.is_file():
        raise Missing(f"there is no film {path.name} in {path.parent}. Check the name.")
    if path.stat().st_size == 0:
        raise Malformed(f"{path.name} is empty; a film has a frame or more. Copy it again from the camera.")
    suffix = path.suffix.lower()
    if suffix not in CODED + STACKED:
        raise Malformed(
            f"{path.name} is no film that can be read: {', '.join(CODED + STACKED)} can. Convert it to one."
        )
    film = _open_stack(path) if suffix in STACKED else _open_coded(path)
    if not 0 < film.width_px * film.height_px <= MOST_PIXELS:
        raise Malformed(
            f"{path.name} says its frames are {film.width_px} by {film.height_px} pixels; up to "
            f"{MOST_PIXELS // 1024**2} megapixels are believed. Copy it again from the camera, or crop it."
        )
    return film


def write_film(
    path: Path,
    frames: Iterable[NDArray[np.uint8]],
    playback_hz: float,
    *,
    quality: Literal["exact", "near"] = "exact",
) -> None:
    """Write grey frames, shape (row, column), uint8, as an MP4 in full range; all of it or nothing.

    "exact" reads back to the very level; "near" to under 2 levels (rms), in a third of the space, and
    plays in more programs. The rate of playback says nothing of the camera's. Raises `Malformed` for
    frames that cannot be written, `Missing` when this build of PyAV has no encoder for it.
    """
    if path.suffix.lower() != ".mp4":
        raise Malformed(
            f"films are written as .mp4, not {path.suffix or 'without a suffix'}. Change the name."
        )
    source = iter(frames)
    first = next(source, None)
    if first is None:
        raise Malformed(f"there is no frame to write into {path.name}. Give at least one.")
    if first.ndim != 2 or first.shape[0] % 2 or first.shape[1] % 2:
        raise Malformed(
            f"frames of shape {first.shape} cannot be written: films take even numbers of rows and columns. "
            "Leave out a row or a column."
        )
    part = path.with_name(f".{path.name}.part")
    try:
        _encode(part, chain([first], source), first.shape, playback_hz, quality)
        part.replace(path)
    finally:
        part.unlink(missing_ok=True)


def _open_stack(path: Path) -> Film:
    stack = _map_stack(path)
    return Film(
        path=path, width_px=stack.shape[2], height_px=stack.shape[1], playback_hz=None, promised=len(stack)
    )


def _map_stack(path: Path) -> NDArray[np.uint8]:
    """Map an NPY stack into memory without reading it."""
    wanted = "an .npy film is one array of shape (time, row, column) in 8-bit unsigned integers"
    try:
        stack = np.load(path, mmap_mode="r", allow_pickle=False)
    except (ValueError, OSError, EOFError) as error:
        raise Malformed(f"{path.name} is cut off or no NumPy array; {wanted}. Save it again.") from error
    if stack.dtype != np.uint8 or stack.ndim != 3 or 0 in stack.shape:
        raise Malformed(f"{path.name} holds {stack.dtype} of shape {stack.shape}; {wanted}. Convert it.")
    return np.asarray(stack) if not isinstance(stack, np.memmap) else stack


def _stack_frames(film: Film) -> Iterator[NDArray[np.uint8]]:
    yield from _map_stack(film.path)


def _open_coded(path: Path) -> Film:
    import av

    try:
        with av.open(str(path)) as container:
            if not container.streams.video:
                raise Malformed(f"{path.name} holds no pictures, only other streams. Give the film itself.")
            stream = container.streams.video[0]
            return Film(
                path=path,
                width_px=stream.width,
                height_px=stream.height,
                playback_hz=float(stream.average_rate) if stream.average_rate else None,
                promised=_promised(container, stream),
            )
    except av.error.FFmpegError as error:
        raise Malformed(
            f"{path.name} cannot be read as a film: it is damaged, cut off before its index, or something "
            "else under this name. Copy it again from the camera."
        ) from error


def _promised(container: "av.container.InputContainer", stream: "av.VideoStream") -> int | None:
    """Say how many frames the header promises: a count, or else duration and rate, less one for rounding."""
    if stream.frames:
        return int(stream.frames)
    if container.duration and stream.average_rate:
        return round(container.duration / 1e6 * float(stream.average_rate)) - 1
    return None


def _coded_frames(film: Film) -> Iterator[NDArray[np.uint8]]:
    import av

    read = 0
    try:
        with av.open(str(film.path)) as container:
            stream = container.streams.video[0]
            stream.thread_type = "AUTO"
            for frame in container.decode(stream):
                if frame.is_corrupt:
                    film.stopped = f"frame {read} is damaged"
                    return
                yield _grey(frame)
                read += 1
    except av.error.FFmpegError as error:
        film.stopped = f"the file cannot be read past frame {read} ({error.strerror})"


def _grey(frame: Any) -> NDArray[np.uint8]:
    """Take a frame's brightness, full range, without converting it where that can be spared."""
    if frame.format.name not in _LUMA_FIRST:
        return np.asarray(frame.reformat(format="gray").to_ndarray(), dtype=np.uint8)
    plane = frame.planes[0]
    grey = np.frombuffer(plane, np.uint8).reshape(-1, plane.line_size)[: frame.height, : frame.width]
    return grey if _is_full(frame) else np.asarray(_EXPANDED[grey])


def _is_full(frame: Any) -> bool:
    """Say whether a frame's brightness runs from 0 to 255; where it is not said, grey does, colour not."""
    if frame.format.name.startswith("yuvj") or frame.color_range == _FULL:
        return True
    return bool(frame.format.name == "gray" and frame.color_range != _LIMITED)


def _encode(
    path: Path, frames: Iterable[NDArray[np.uint8]], shape: tuple[int, ...], playback_hz: float, quality: str
) -> None:
    """Encode frames with the index in front, so that a cut-off copy can still be read."""
    import av

    codec, options = _encoder(quality)
    height, width = shape
    with av.open(str(path), "w", format="mp4", options={"movflags": "+faststart"}) as container:
        rate = Fraction(playback_hz).limit_denominator(1001)
        stream: Any = container.add_stream(codec, rate=rate, options=options)
        stream.width, stream.height, stream.pix_fmt = width, height, "yuvj420p"
        planes = np.full((height * 3 // 2, width), 128, dtype=np.uint8)
        for grey in frames:
            if grey.shape != shape or grey.dtype != np.uint8:
                raise Malformed(
                    f"a frame of shape {grey.shape} and type {grey.dtype} came among frames of shape {shape} "
                    "in 8 bits. Give frames of one size."
                )
            planes[:height] = grey
            container.mux(stream.encode(av.VideoFrame.from_ndarray(planes, format="yuvj420p")))
        container.mux(stream.encode(None))


def _encoder(quality: str) -> tuple[str, dict[str, str]]:
    """Choose the encoder of a quality that this build of PyAV has."""
    import av

    for codec, options in _ENCODERS[quality]:
        if codec in av.codecs_available:
            return codec, options
    raise Missing(
        f'this build of PyAV has no encoder for films of quality "{quality}". Install PyAV from its wheel.'
    )
