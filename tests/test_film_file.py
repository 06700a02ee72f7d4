"""Hold films to what was written, and bad files to one clear sentence each."""

from collections.abc import Callable, Iterator
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
import pytest
from numpy.typing import NDArray

from farface.files.film import open_film
from farface.files.film_write import write_film
from farface.kernel import FarfaceError, Malformed, Missing

NEAR_RMS_GREY = 2.0  # grey levels: what "near" promises
LIMITED_GREY = 1  # grey levels: 219 steps spread over 255

Frames = NDArray[np.uint8]


@pytest.fixture(scope="module")
def frames() -> Frames:
    """A ramp over every level, drifting, with noise; shape (time, row, column)."""
    rng = np.random.default_rng(3)
    ramp = np.linspace(0.0, 255.0, 64)[None, None, :] + np.zeros((40, 48, 1)) + np.arange(40)[:, None, None]
    return np.clip(ramp + rng.normal(0.0, 2.0, ramp.shape), 0, 255).astype(np.uint8)


@pytest.fixture(scope="module")
def written(frames: Frames, tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("films") / "ramp.mp4"
    write_film(path, frames, 25.0)
    return path


def _read(path: Path) -> Frames:
    return np.stack([frame.copy() for frame in open_film(path).frames()])


@pytest.mark.exact
def test_exact_film_reads_back_to_the_level(frames: Frames, written: Path) -> None:
    film = open_film(written)
    assert (film.width_px, film.height_px, film.playback_hz, film.promised) == (64, 48, 25.0, 40)
    assert np.array_equal(_read(written), frames)
    assert list(film.frames())[7].shape == (48, 64)
    assert film.stopped is None


@pytest.mark.parametrize("without", [(), ("libx264",)])
def test_near_film_reads_back_within_two_levels(
    frames: Frames, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, without: tuple[str, ...]
) -> None:
    """Also by the second encoder, where the first is missing."""
    monkeypatch.setattr(av, "codecs_available", set(av.codecs_available) - set(without))
    write_film(tmp_path / "near.mp4", frames, 29.97, quality="near")
    error = _read(tmp_path / "near.mp4").astype(float) - frames
    assert np.sqrt(np.mean(error**2)) < NEAR_RMS_GREY
    assert abs(error.mean()) < 0.3


def test_without_an_encoder_the_person_is_told(
    frames: Frames, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(av, "codecs_available", set())
    with pytest.raises(Missing, match="no encoder"):
        write_film(tmp_path / "x.mp4", frames, 25.0)
    assert list(tmp_path.iterdir()) == []


def _encode(path: Path, frames: Frames, codec: str, pixels: str, full: bool) -> None:
    """Write frames the way another program might, through the library's own conversion."""
    with av.open(str(path), "w") as container:
        stream = container.add_stream(codec, rate=Fraction(25))
        stream.height, stream.width, stream.pix_fmt = frames.shape[1], frames.shape[2], pixels
        stream.codec_context.color_range = 2 if full else 1
        if codec == "libx264":
            stream.options = {"qp": "0"}
        for grey in frames:
            frame = av.VideoFrame.from_ndarray(grey, format="gray").reformat(format=pixels)
            frame.color_range = 2 if full else 1
            container.mux(stream.encode(frame))
        container.mux(stream.encode(None))


@pytest.mark.exact
@pytest.mark.parametrize(
    ("name", "codec", "pixels", "full"),
    [
        ("limited.mp4", "libx264", "yuv420p", False),
        ("limited.mkv", "libx264", "yuv444p", False),
        ("plain.mov", "libx264", "gray", True),
        ("lossless.mkv", "ffv1", "gray", True),
        ("deep.mkv", "ffv1", "gray10le", True),
        ("colour.avi", "ffv1", "bgr0", True),
    ],
)
def test_films_of_other_programs(
    frames: Frames, tmp_path: Path, name: str, codec: str, pixels: str, full: bool
) -> None:
    _encode(tmp_path / name, frames, codec, pixels, full)
    read = _read(tmp_path / name)
    assert read.shape == frames.shape
    assert np.max(np.abs(read.astype(int) - frames)) <= LIMITED_GREY
    assert open_film(tmp_path / name).stopped is None


@pytest.mark.parametrize("share", [0.35, 0.6, 0.85, 0.999])
def test_a_cut_off_film_yields_its_beginning_and_says_so(
    frames: Frames, written: Path, tmp_path: Path, share: float
) -> None:
    whole = written.read_bytes()
    (tmp_path / "cut.mp4").write_bytes(whole[: int(share * len(whole))])
    film = open_film(tmp_path / "cut.mp4")
    read = [frame.copy() for frame in film.frames()]
    assert 0.5 * share * 40 < len(read) < 40
    assert np.array_equal(np.stack(read), frames[: len(read)])
    assert film.stopped is not None
    assert str(len(read)) in film.stopped


def test_no_length_of_a_cut_off_film_fails_otherwise(written: Path, tmp_path: Path) -> None:
    whole = written.read_bytes()
    for length in [*range(0, 4000, 157), *range(4000, len(whole), len(whole) // 12)]:
        path = tmp_path / "cut.mp4"
        path.write_bytes(whole[:length])
        try:
            film = open_film(path)
            assert sum(1 for _ in film.frames()) < 40
            assert film.stopped is not None
        except FarfaceError as error:
            assert str(error).startswith("cut.mp4 ")


def test_a_cut_off_film_of_another_program(frames: Frames, tmp_path: Path) -> None:
    """Matroska has no count of frames; its duration tells."""
    path = tmp_path / "whole.mkv"
    _encode(path, frames, "ffv1", "gray", full=True)
    (tmp_path / "cut.mkv").write_bytes(path.read_bytes()[: path.stat().st_size // 2])
    film = open_film(tmp_path / "cut.mkv")
    assert 10 < sum(1 for _ in film.frames()) < 30
    assert film.stopped is not None


def _only_sound(path: Path) -> None:
    with av.open(str(path), "w") as container:
        stream = container.add_stream("aac", rate=44_100)
        frame = av.AudioFrame.from_ndarray(
            np.zeros((1, 1024), dtype=np.float32), format="fltp", layout="mono"
        )
        frame.sample_rate = 44_100
        container.mux(stream.encode(frame))
        container.mux(stream.encode(None))


@pytest.mark.parametrize(
    ("name", "make", "words"),
    [
        ("empty.mp4", lambda path: path.write_bytes(b""), "is empty"),
        (
            "notes.mp4",
            lambda path: path.write_text("shopping: copper sulfate, gloves\n" * 40),
            "cannot be read as a film",
        ),
        ("sound.mp4", _only_sound, "holds no pictures"),
        ("notes.txt", lambda path: path.write_text("hello"), "no film that can be read"),
        ("text.npy", lambda path: path.write_text("hello"), "no NumPy array"),
        ("flat.npy", lambda path: np.save(path, np.zeros((4, 4), np.uint8)), r"uint8 of shape \(4, 4\)"),
        ("real.npy", lambda path: np.save(path, np.zeros((4, 4, 4), np.float32)), "float32"),
        ("none.npy", lambda path: np.save(path, np.zeros((0, 4, 4), np.uint8)), r"\(0, 4, 4\)"),
        ("cut.npy", lambda path: _promise(path, (1, 100, 100), 5_000), "cut off"),
        ("vast.npy", lambda path: _promise(path, (1, 10_000, 10_000), 10**8), "10000 by 10000 pixels"),
    ],
)
def test_what_is_no_film(tmp_path: Path, name: str, make: Callable[[Path], object], words: str) -> None:
    make(tmp_path / name)
    with pytest.raises(Malformed, match=words):
        open_film(tmp_path / name)


def _promise(path: Path, shape: tuple[int, ...], size: int) -> None:
    """Write an array file with a header and then a hole of some size."""
    with path.open("wb") as target:
        np.lib.format.write_array_header_1_0(target, {"descr": "|u1", "fortran_order": False, "shape": shape})
        target.truncate(target.tell() + size)


def test_no_such_film(tmp_path: Path) -> None:
    with pytest.raises(Missing, match=r"no film gone\.mp4"):
        open_film(tmp_path / "gone.mp4")


def test_a_stack_is_read_as_it_is(frames: Frames, tmp_path: Path) -> None:
    np.save(tmp_path / "stack.npy", frames)
    film = open_film(tmp_path / "stack.npy")
    assert (film.width_px, film.height_px, film.playback_hz) == (64, 48, None)
    assert np.array_equal(np.stack(list(film.frames())), frames)


def test_writing_is_all_or_nothing(frames: Frames, tmp_path: Path) -> None:
    path = tmp_path / "kept.mp4"
    path.write_bytes(b"what was there before")

    def failing() -> Iterator[Frames]:
        yield from frames
        assert len(list(tmp_path.iterdir())) == 2  # the part written so far has its own name
        yield from frames
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        write_film(path, failing(), 25.0)
    assert path.read_bytes() == b"what was there before"
    assert list(tmp_path.iterdir()) == [path]


@pytest.mark.parametrize(
    ("name", "given", "words"),
    [
        ("a.avi", [np.zeros((8, 8), np.uint8)], "written as .mp4"),
        ("a.mp4", [], "no frame to write"),
        ("a.mp4", [np.zeros((9, 8), np.uint8)], "even numbers"),
        ("a.mp4", [np.zeros((32, 32), np.uint8), np.zeros((32, 34), np.uint8)], r"\(32, 34\)"),
        ("a.mp4", [np.zeros((32, 32), np.uint16)], "uint16"),
    ],
)
def test_what_cannot_be_written(tmp_path: Path, name: str, given: list[Frames], words: str) -> None:
    with pytest.raises(Malformed, match=words):
        write_film(tmp_path / name, given, 25.0)
    assert list(tmp_path.iterdir()) == []
