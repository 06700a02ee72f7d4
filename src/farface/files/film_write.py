"""Write grey films."""

from collections.abc import Iterable
from fractions import Fraction
from itertools import chain
from pathlib import Path
from typing import Any, Final, Literal

import numpy as np
from numpy.typing import NDArray

from farface.kernel import Malformed, Missing

# Encoders and their settings, the first that this build of PyAV has being used.
_ENCODERS: Final = {
    "exact": (("libx264", {"qp": "0", "preset": "ultrafast"}),),
    "near": (("libx264", {"qp": "18", "preset": "ultrafast"}), ("mjpeg", {"qmin": "1", "qmax": "1"})),
}


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
