"""Read films in the containers that cameras and programs write: MP4, MOV, MKV, AVI."""

import contextlib
from collections.abc import Iterator
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from farface.files.film_source import SPAN_FRAMES, WHOLE, FilmEnds, FilmSource, Frame, Span
from farface.kernel import Malformed, Missing

if TYPE_CHECKING:
    import av

# Formats whose first plane is brightness in 8 bits; any other is converted by the decoder's own library.
_LUMA_FIRST: Final = frozenset(
    {"gray", "nv12", "yuv420p", "yuv422p", "yuv444p", "yuvj420p", "yuvj422p", "yuvj444p"}
)
_LIMITED, _FULL = 1, 2  # colour ranges: 16 to 235, and 0 to 255
_EXPANDED: Final = np.clip(np.rint((np.arange(256) - 16) * 255 / 219), 0, 255).astype(np.uint8)
UNEVEN_TICKS: Final = 1  # of the film's clock, to which times are rounded


def open_coded(path: Path) -> FilmSource:
    """Open a film in a container; colour is reduced to brightness, and a turned film is turned back.

    Raises `Malformed` for what holds no film, `Missing` when this build of PyAV cannot decode it.
    """
    import av

    try:
        with av.open(str(path), metadata_errors="replace") as container:
            if not container.streams.video:
                raise Malformed(f"{path.name} holds no pictures, only other streams. Give the film itself.")
            stream = container.streams.video[0]
            if stream.codec_context is None:
                raise Missing(
                    f"{path.name} is coded in a way that this build of PyAV cannot decode. Save it as H.264, "
                    "FFV1 or MJPEG."
                )
            notes: list[str] = []
            return FilmSource(
                width_px=stream.width,
                height_px=stream.height,
                playback_hz=float(stream.average_rate) if stream.average_rate else None,
                promised=_promised(container, stream),
                frames=partial(_frames, path),
                spans=partial(_spans, path, notes),
                notes=notes,
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


def _spans(path: Path, notes: list[str]) -> tuple[Span, ...]:
    """Cut a film at key frames, from which a decoder can start; films without times are left whole.

    So is a film with a hole: there packets that are read in passing have other times than when sought.
    """
    times, keys, complete = _times(path)
    notes[:] = _uneven(times)
    if not complete:
        return (WHOLE,)
    cuts = [0]
    for number, time in enumerate(times[: max(0, len(times) - SPAN_FRAMES + 1)]):
        if time in keys and number - cuts[-1] >= SPAN_FRAMES:
            cuts.append(number)
    starts = [None, *(times[cut] for cut in cuts[1:])]
    return tuple(
        Span(first=cut, start=start, end=end)
        for cut, start, end in zip(cuts, starts, [*starts[1:], None], strict=True)
    )


def _times(path: Path) -> tuple[list[int], set[int], bool]:
    """List the times of frames in order, those of key frames, and whether none is missing, undecoded."""
    import av

    packets: list[tuple[int | None, bool]] = []
    opened = av.open(str(path), metadata_errors="replace")
    stream = opened.streams.video[0]
    promised = int(stream.frames)  # to be asked for while the file is open
    with contextlib.suppress(av.error.FFmpegError), opened as container:
        packets += ((one.pts, one.is_keyframe) for one in container.demux(stream) if one.size)
    times = sorted(pts for pts, _ in packets if pts is not None)
    keys = {pts for pts, is_key in packets if pts is not None and is_key}
    complete = len(times) == len(packets) and promised in (0, len(times))
    return times, keys, complete


def _frames(path: Path, span: Span) -> Iterator[Frame]:
    """Decode a span: the whole film on all cores, a part of it on one, since others are read beside it."""
    import av

    read = span.first
    try:
        with av.open(str(path), metadata_errors="replace") as container:
            stream = container.streams.video[0]
            stream.thread_type = "AUTO"
            stream.codec_context.thread_count = 0 if span == WHOLE else 1
            if span.start is not None:
                container.seek(span.start, stream=stream)
            for frame in container.decode(stream):
                if span.start is not None and (frame.pts is None or frame.pts < span.start):
                    continue
                if span.end is not None and frame.pts is not None and frame.pts >= span.end:
                    return
                if frame.is_corrupt:
                    raise FilmEnds(f"frame {read} is damaged")
                yield _upright(_grey(frame), frame.rotation)
                read += 1
    except av.error.FFmpegError as error:
        raise FilmEnds(f"the file cannot be read past frame {read} ({error.strerror})") from error


def _uneven(times: list[int]) -> list[str]:
    """Say when frames are not evenly spaced in playback: then frames are missing, or were filmed unevenly."""
    if len(times) < 3:
        return []
    steps = np.diff(times)
    usual = float(np.median(steps))
    odd = int(np.sum(np.abs(steps - usual) > UNEVEN_TICKS))
    if not odd:
        return []
    return [
        f"{odd} of {steps.size} frames do not follow the last one after the usual time: the film has a "
        "variable frame rate, or frames were left out. Times, lives and rates are as if it were steady."
    ]


def _upright(grey: Frame, turned_deg: int) -> Frame:
    """Turn a frame as its film says that it must be shown; anticlockwise is positive."""
    return grey if turned_deg % 360 == 0 else np.rot90(grey, round(turned_deg / 90))


def _grey(frame: Any) -> Frame:
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
