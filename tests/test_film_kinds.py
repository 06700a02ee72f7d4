"""Hold films of other kinds to what was put into them, and odd ones to one clear sentence each."""

import struct
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image  # it comes with matplotlib; here it is the second implementation

from farface.files.film import open_film
from farface.files.film_grey import bits_used, to_grey
from farface.kernel import FarfaceError, Malformed, Missing

DEEP_GREY = 0.51  # grey levels: 12 bits rounded to 8
COLOUR_GREY = 1  # grey levels: weights in whole numbers against real ones

Levels = NDArray[np.unsignedinteger]


@pytest.fixture(scope="module")
def frames() -> NDArray[np.uint8]:
    """Noise about a slope, not square; shape (time, row, column)."""
    rng = np.random.default_rng(3)
    return np.clip(rng.normal(120.0, 30.0, (12, 30, 44)) + np.arange(44), 0, 255).astype(np.uint8)


@pytest.fixture(scope="module")
def deep(frames: NDArray[np.uint8]) -> NDArray[np.uint16]:
    """The same in 12 bits, with something in the lower four."""
    low = np.random.default_rng(4).integers(0, 16, frames.shape)
    return (frames.astype(np.uint16) * 16 + low).astype(np.uint16)


def _read(path: Path) -> NDArray[np.uint8]:
    return np.stack([frame.copy() for frame in open_film(path).frames()])


def _write_tiff(path: Path, frames: Levels, **how: object) -> None:
    first, *rest = (Image.fromarray(frame) for frame in frames)
    first.save(path, save_all=True, append_images=rest, **how)


@pytest.mark.exact
@pytest.mark.parametrize("big", [False, True])
def test_tiff_stacks_read_back_to_the_level(frames: NDArray[np.uint8], tmp_path: Path, big: bool) -> None:
    _write_tiff(tmp_path / "a.tif", frames, big_tiff=big)
    film = open_film(tmp_path / "a.tif")
    assert (film.width_px, film.height_px, film.playback_hz) == (44, 30, None)
    assert np.array_equal(_read(tmp_path / "a.tif"), frames)
    assert film.stopped is None


@pytest.mark.exact
def test_deep_films_keep_their_levels(deep: NDArray[np.uint16], tmp_path: Path) -> None:
    """Twelve bits in sixteen: as TIFF, NPY, PNG and raw."""
    _write_tiff(tmp_path / "a.tiff", deep)
    np.save(tmp_path / "a.npy", deep)
    deep.astype(">u2").tofile(tmp_path / "a.raw")
    layout = 'width_px = 44\nheight_px = 30\nbits = 12\nbyte_order = "big"\n'
    (tmp_path / "a.toml").write_text(layout, "utf-8")
    (tmp_path / "shots").mkdir()
    for number, frame in enumerate(deep):
        Image.fromarray(frame).save(tmp_path / "shots" / f"shot{number}.png")
    for name in ("a.tiff", "a.npy", "a.raw", "shots"):
        read = _read(tmp_path / name)
        assert np.max(np.abs(read - deep * (255.0 / 4095.0))) < DEEP_GREY, name


@pytest.mark.exact
def test_big_endian_tiff_with_white_at_zero_in_two_strips(tmp_path: Path) -> None:
    """Written here byte by byte: a page of 2 x 4 pixels."""
    strips = bytes([0, 10, 20, 30]), bytes([255, 245, 235, 225])
    tags = [(256, 4), (257, 2), (258, 8), (259, 1), (262, 0), (278, 1)]
    entries = [struct.pack(">HHIHH", tag, 3, 1, value, 0) for tag, value in tags]
    data_at = 8 + 2 + 12 * 8 + 4
    places = struct.pack(">IIII", data_at + 16, data_at + 20, 4, 4)
    entries.insert(5, struct.pack(">HHII", 273, 4, 2, data_at))
    entries.append(struct.pack(">HHII", 279, 4, 2, data_at + 8))
    page = struct.pack(">H", 8) + b"".join(entries) + bytes(4) + places + b"".join(strips)
    (tmp_path / "a.tif").write_bytes(b"MM" + struct.pack(">HI", 42, 8) + page)
    assert _read(tmp_path / "a.tif")[0].tolist() == [[255, 245, 235, 225], [0, 10, 20, 30]]


@pytest.mark.exact
def test_colour_is_weighted_as_brightness(tmp_path: Path) -> None:
    colour = np.random.default_rng(5).integers(0, 256, (9, 20, 24, 3)).astype(np.uint8)
    grey = np.stack([np.asarray(Image.fromarray(picture).convert("L")) for picture in colour])
    np.save(tmp_path / "a.npy", colour)
    _write_tiff(tmp_path / "a.tif", colour)
    for name in ("a.npy", "a.tif"):
        assert np.max(np.abs(_read(tmp_path / name).astype(int) - grey)) <= COLOUR_GREY, name


@pytest.mark.exact
def test_pictures_come_in_the_order_of_their_numbers(frames: NDArray[np.uint8], tmp_path: Path) -> None:
    for number, frame in enumerate(frames):
        Image.fromarray(frame).save(tmp_path / f"run2_{number}.png")
    assert np.array_equal(_read(tmp_path), frames)


@pytest.mark.exact
def test_raw_frames_after_a_header_and_between_gaps(frames: NDArray[np.uint8], tmp_path: Path) -> None:
    rows = b"".join(b"GAP" + frame.tobytes() for frame in frames).removeprefix(b"GAP")
    (tmp_path / "a.raw").write_bytes(b"HEADER" + rows)
    (tmp_path / "a.toml").write_text(
        "width_px = 44\nheight_px = 30\nbits = 8\nheader_bytes = 6\ngap_bytes = 3\n", "utf-8"
    )
    assert np.array_equal(_read(tmp_path / "a.raw"), frames)
    assert open_film(tmp_path / "a.raw").notes == ()


def test_raw_bytes_left_over_are_told(frames: NDArray[np.uint8], tmp_path: Path) -> None:
    (tmp_path / "a.raw").write_bytes(frames.tobytes() + b"rest")
    (tmp_path / "a.toml").write_text("width_px = 44\nheight_px = 30\nbits = 8\n", "utf-8")
    (note,) = open_film(tmp_path / "a.raw").notes
    assert "4 bytes" in note


def _film(path: Path, frames: NDArray[np.uint8], times: list[int], turned: int = 0) -> None:
    """Write a lossless film whose frames are shown at given ticks of 1/25 s."""
    with av.open(str(path), "w") as container:
        stream = container.add_stream("ffv1" if path.suffix == ".mkv" else "libx264", rate=Fraction(25))
        stream.height, stream.width = frames.shape[1:]
        stream.pix_fmt = "gray" if path.suffix == ".mkv" else "yuvj420p"
        if path.suffix == ".mp4":
            stream.options = {"qp": "0"}
        for grey, time in zip(frames, times, strict=True):
            frame = av.VideoFrame.from_ndarray(grey, format="gray").reformat(format=stream.pix_fmt)
            frame.pts, frame.time_base = time, Fraction(1, 25)
            container.mux(stream.encode(frame))
        container.mux(stream.encode(None))


def test_a_variable_frame_rate_is_told(frames: NDArray[np.uint8], tmp_path: Path) -> None:
    _film(tmp_path / "even.mkv", frames, list(range(12)))
    _film(tmp_path / "odd.mkv", frames, [*range(7), *range(9, 14)])
    even, odd = open_film(tmp_path / "even.mkv"), open_film(tmp_path / "odd.mkv")
    assert len(list(even.frames())) == len(list(odd.frames())) == 12
    assert len(even.spans()) == len(odd.spans()) == 1
    assert even.notes == ()
    assert odd.notes[0].startswith("1 of 11 frames")
    list(odd.frames())
    assert len(odd.notes) == 1


@pytest.mark.exact
@pytest.mark.parametrize(("turned_deg", "turns"), [(90, 1), (-90, 3), (180, 2), (0, 0)])
def test_a_turned_film_is_turned_back(
    frames: NDArray[np.uint8], tmp_path: Path, turned_deg: int, turns: int
) -> None:
    """The matrix in an MP4's header that players obey, patched in by hand."""
    _film(tmp_path / "a.mp4", frames, list(range(12)))
    content = bytearray((tmp_path / "a.mp4").read_bytes())
    at = content.index(b"tkhd") + 4 + 40
    one = 1 << 16
    matrix = {0: (one, 0, 0, one), 1: (0, -one, one, 0), 2: (-one, 0, 0, -one), 3: (0, one, -one, 0)}[turns]
    a, b, c, d = matrix
    content[at : at + 36] = struct.pack(">9i", a, b, 0, c, d, 0, 0, 0, 1 << 30)
    (tmp_path / "turned.mp4").write_bytes(content)
    assert np.array_equal(_read(tmp_path / "turned.mp4"), np.rot90(frames, turns, axes=(1, 2)))


@pytest.mark.exact
@pytest.mark.parametrize(
    ("brightest", "bits"), [(0, 8), (255, 8), (256, 10), (4095, 12), (4096, 14), (65535, 16)]
)
def test_bits_are_told_from_the_brightest_level(brightest: int, bits: int) -> None:
    assert bits_used(np.array([1, brightest], dtype=np.uint16)) == bits


@pytest.mark.exact
def test_what_is_brighter_than_white_is_white() -> None:
    assert to_grey(np.array([[0, 1023, 2000]], dtype=np.uint16), 10).tolist() == [[0, 255, 255]]


def _cut(path: Path) -> None:
    _write_tiff(path, np.full((3, 40, 40), 9, np.uint8))
    path.write_bytes(path.read_bytes()[:900])


def _folder(path: Path) -> None:
    path.mkdir()
    (path / "1.png").write_bytes(b"\x89PNG nothing more" * 3)


def _raw(path: Path, layout: str | None) -> None:
    path.write_bytes(bytes(100))
    if layout is not None:
        path.with_suffix(".toml").write_text(layout, "utf-8")


@pytest.mark.parametrize(
    ("name", "make", "words"),
    [
        ("text.tif", lambda path: path.write_text("hello, this is no picture"), "is no TIFF"),
        ("short.tif", lambda path: path.write_bytes(b"II*\0"), "is no TIFF"),
        (
            "lzw.tif",
            lambda path: _write_tiff(path, np.zeros((2, 8, 8), np.uint8), compression="tiff_lzw"),
            "comp",
        ),
        ("bits.tif", lambda path: Image.new("1", (8, 8)).save(path), "8 or 16 bits"),
        ("cut.tif", _cut, "cut off"),
        ("empty", lambda path: path.mkdir(), "no PNG pictures"),
        ("bad", _folder, "damaged"),
        ("bare.raw", lambda path: _raw(path, None), "there is no bare.toml"),
        ("key.raw", lambda path: _raw(path, "width_px = 4\nheight_px = 4\nbits = 8\ndeep = 1\n"), '"deep"'),
        ("bits.raw", lambda path: _raw(path, "width_px = 4\nheight_px = 4\nbits = 7\n"), '"bits"'),
        ("toml.raw", lambda path: _raw(path, "width_px = \n"), "no TOML"),
        ("small.raw", lambda path: _raw(path, "width_px = 40\nheight_px = 4\nbits = 8\n"), "takes 160"),
        (
            "vast.raw",
            lambda path: _raw(path, "width_px = 400000\nheight_px = 250000\nbits = 16\n"),
            "holds 100 bytes",
        ),
    ],
)
def test_what_cannot_be_read(tmp_path: Path, name: str, make: Callable[[Path], object], words: str) -> None:
    make(tmp_path / name)
    with pytest.raises((Malformed, Missing), match=words):
        open_film(tmp_path / name)


def test_no_length_of_a_cut_off_tiff_fails_otherwise(frames: NDArray[np.uint8], tmp_path: Path) -> None:
    _write_tiff(tmp_path / "a.tif", frames)
    whole = (tmp_path / "a.tif").read_bytes()
    for length in range(0, len(whole), 331):
        (tmp_path / "cut.tif").write_bytes(whole[:length])
        try:
            film = open_film(tmp_path / "cut.tif")
            read = list(film.frames())
            assert np.array_equal(np.stack(read), frames[: len(read)])
            assert len(read) == len(frames) or film.stopped is not None
        except FarfaceError as error:
            assert str(error).startswith("cut.tif ")


def test_a_damaged_picture_ends_the_film_with_what_came_before(tmp_path: Path) -> None:
    for number in range(4):
        Image.fromarray(np.full((8, 8), 50, np.uint8)).save(tmp_path / f"{number}.png")
    (tmp_path / "2.png").write_bytes(b"no picture")
    film = open_film(tmp_path)
    assert len(list(film.frames())) == 2
    assert film.stopped == "2.png is damaged"


def _coded_as(path: Path, fourcc: bytes) -> None:
    """Write an AVI and claim that it is coded in another way, in the two places that say so."""
    with av.open(str(path), "w", format="avi") as container:
        stream = container.add_stream("mjpeg", rate=25)
        stream.width, stream.height, stream.pix_fmt = 32, 16, "yuvj420p"
        for _ in range(9):
            levels = np.full((16, 32), 90, np.uint8)
            container.mux(stream.encode(av.VideoFrame.from_ndarray(levels, format="gray")))
        container.mux(stream.encode(None))
    path.write_bytes(path.read_bytes().replace(b"MJPG", fourcc))


def test_a_codec_that_nobody_has_is_told(tmp_path: Path) -> None:
    _coded_as(tmp_path / "odd.avi", b"ZQXW")
    with pytest.raises(FarfaceError, match=r"odd\.avi (is coded|cannot be read)"):
        list(open_film(tmp_path / "odd.avi").frames())


def test_a_picture_of_100_gigapixels_is_not_believed(tmp_path: Path) -> None:
    header = struct.pack(">II5B", 400_000, 250_000, 8, 0, 0, 0, 0)
    start = b"\x89PNG\r\n\x1a\n" + struct.pack(">I", 13) + b"IHDR"
    (tmp_path / "1.png").write_bytes(start + header + bytes(64))
    with pytest.raises(Malformed, match="damaged"):
        open_film(tmp_path)


@pytest.mark.parametrize("name", ["film.mp4", "film.tif", "film.npy"])
def test_a_film_under_a_wrong_name_is_read_or_told(tmp_path: Path, name: str) -> None:
    """A container says what it is whatever its name; a TIFF or an array under another's name is told."""
    _coded_as(tmp_path / "right.avi", b"MJPG")
    (tmp_path / name).write_bytes((tmp_path / "right.avi").read_bytes())
    if name == "film.mp4":
        assert sum(1 for _ in open_film(tmp_path / name).frames()) == 9
    else:
        with pytest.raises(Malformed, match=name):
            open_film(tmp_path / name)
