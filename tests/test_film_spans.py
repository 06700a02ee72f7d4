"""Read films span by span, and hold what comes of it to reading them whole."""

import struct
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
import pytest
from numpy.typing import NDArray

from farface.app.crew import open_crew
from farface.app.film_reading import start_reading
from farface.files.film import open_film
from farface.files.film_source import WHOLE
from farface.files.film_write import write_film
from farface.footage.drawn import FilmTruth, TrueBubble, draw_film
from farface.footage.read import read_events
from farface.records import FilmScale

SCALE = FilmScale(frame_hz=30_000.0, exposure_s=12e-6, pixel_m=10e-6, face_row_px=30.0)
FRAMES = 1700  # more than six spans; the last one is longer
TRUTH = FilmTruth(
    scale=SCALE, frames=FRAMES, width_px=96, height_px=80, noise_grey=2.0,
    bubbles=tuple(
        TrueBubble(start_s=(3 + 9 * k) / 3e4, along_m=(20 + 50 * (k % 2)) * 1e-5, below_m=2e-4,
                   radius_max_m=1.2e-4, life_s=1.7e-4)
        for k in range(FRAMES // 9)
    ),
)  # fmt: skip


@pytest.fixture(scope="module")
def drawn() -> NDArray[np.uint8]:
    return draw_film(TRUTH, np.random.default_rng(3))


def _coded(path: Path, frames: NDArray[np.uint8], codec: str, options: dict[str, str]) -> None:
    with av.open(str(path), "w") as container:
        stream = container.add_stream(codec, rate=25, options=options)
        stream.width, stream.height = frames.shape[2], frames.shape[1]
        stream.pix_fmt = "yuvj420p" if codec == "mjpeg" else "yuv420p"
        for levels in frames:
            container.mux(stream.encode(av.VideoFrame.from_ndarray(levels, format="gray")))
        container.mux(stream.encode(None))


def _tiff(path: Path, frames: NDArray[np.uint8]) -> None:
    """Write a classic TIFF stack, each page's tags right after its levels."""
    height, width = frames.shape[1:]
    tags = ((256, width), (257, height), (258, 8), (259, 1), (262, 1), (273, 0), (278, height), (279, 0))
    size, at = 2 + 12 * len(tags) + 4, 8
    parts = [struct.pack("<2sHI", b"II", 42, at + width * height)]
    for number, levels in enumerate(frames):
        known = {273: at, 279: width * height}
        at += width * height + size
        following = at + width * height if number + 1 < len(frames) else 0
        entries = b"".join(struct.pack("<HHII", tag, 4, 1, known.get(tag, value)) for tag, value in tags)
        parts += [levels.tobytes(), struct.pack("<H", len(tags)), entries, struct.pack("<I", following)]
    path.write_bytes(b"".join(parts))


def _write(path: Path, frames: NDArray[np.uint8]) -> Path:
    if path.suffix == ".npy":
        np.save(path, frames)
    elif path.suffix == ".tif":
        _tiff(path, frames)
    elif path.suffix == ".avi":
        _coded(path, frames, "mjpeg", {"q:v": "3"})
    elif path.suffix == ".mkv":
        _coded(path, frames, "ffv1", {"g": "37"})
    elif path.suffix == ".mov":
        _coded(path, frames, "libx264", {"x264-params": "open-gop=1:bframes=3", "g": "60"})
    else:
        write_film(path, frames, 25.0)
    return path


KINDS = ("film.npy", "film.tif", "film.avi", "film.mkv", "film.mov", "film.mp4")


@pytest.mark.exact
@pytest.mark.parametrize("name", KINDS)
def test_spans_are_the_whole_film_cut_into_pieces(
    name: str, drawn: NDArray[np.uint8], tmp_path: Path
) -> None:
    film = open_film(_write(tmp_path / name, drawn))
    spans = film.spans()
    assert len(spans) >= 3
    pieces = [[frame.copy() for frame in film.frames(span)] for span in spans]
    assert [span.first for span in spans] == np.cumsum([0, *map(len, pieces[:-1])]).tolist()
    whole = [frame.copy() for frame in film.frames(WHOLE)]
    assert len(whole) == FRAMES
    assert np.array_equal(np.stack(whole), np.stack([frame for piece in pieces for frame in piece]))


def test_a_film_of_pictures_is_cut_too(drawn: NDArray[np.uint8], tmp_path: Path) -> None:
    for number, levels in enumerate(drawn[:3]):
        codec = av.CodecContext.create("png", "w")
        codec.width, codec.height, codec.pix_fmt, codec.time_base = 96, 80, "gray", Fraction(1, 25)
        frame = av.VideoFrame.from_ndarray(levels, format="gray")
        (tmp_path / f"{number}.png").write_bytes(b"".join(bytes(p) for p in codec.encode(frame)))
    film = open_film(tmp_path)
    (span,) = film.spans()
    assert [frame.tolist() for frame in film.frames(span)] == drawn[:3].tolist()


@pytest.mark.exact
@pytest.mark.parametrize("name", ["film.npy", "film.mp4"])
def test_reading_by_spans_on_threads_gives_the_events_of_the_whole(
    name: str, drawn: NDArray[np.uint8], tmp_path: Path
) -> None:
    film = open_film(_write(tmp_path / name, drawn))
    with open_crew(None) as crew:
        once, again = (start_reading(crew, film, SCALE).events() for _ in range(2))
    assert once == again
    assert len(once.reading.bubbles) == len(TRUTH.bubbles)
    if name == "film.npy":  # whose spans are whole stretches
        assert once == read_events(drawn, SCALE, name)


def test_a_film_that_ends_early_is_read_up_to_there(drawn: NDArray[np.uint8], tmp_path: Path) -> None:
    path = _write(tmp_path / "film.tif", drawn)
    path.write_bytes(path.read_bytes()[: path.stat().st_size * 7 // 10])
    with open_crew(None) as crew:
        events = start_reading(crew, open_film(path), SCALE).events()
    assert events.reading.frames == int(FRAMES * 0.7) - 1  # the header takes some bytes
    assert events.reading.stopped == f"page {int(FRAMES * 0.7)} is cut off"


def test_a_coded_film_with_a_hole_is_read_up_to_the_hole(drawn: NDArray[np.uint8], tmp_path: Path) -> None:
    path = _write(tmp_path / "film.avi", drawn)
    content = bytearray(path.read_bytes())
    middle = len(content) // 2
    content[middle : middle + 20_000] = bytes(20_000)
    path.write_bytes(content)
    film = open_film(path)
    with open_crew(None) as crew:
        events = start_reading(crew, film, SCALE).events()
    sequential = sum(1 for _ in film.frames())
    assert 0 < events.reading.frames <= FRAMES
    assert (events.reading.stopped is None) == (film.stopped is None)
    assert abs(events.reading.frames - sequential) <= 1


def test_pages_that_come_back_to_an_earlier_one_are_read_once(
    drawn: NDArray[np.uint8], tmp_path: Path
) -> None:
    path = _write(tmp_path / "film.tif", drawn[:1100])
    content = bytearray(path.read_bytes())
    content[-4:] = struct.pack("<I", 8 + 96 * 80)  # the last page leads to the first
    path.write_bytes(content)
    film = open_film(path)
    assert sum(1 for span in film.spans() for _ in film.frames(span)) == 1100
