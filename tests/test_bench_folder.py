"""Check the bench's folder and that its files are written whole or not at all."""

import errno
import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from farface.files.bench_folder import SUBFOLDERS, make_bench, open_bench, write_atomically
from farface.kernel import Malformed, Missing

NOBODY = 65_534


def test_makes_a_bench_that_opens_once_it_has_a_rig(tmp_path: Path) -> None:
    folder = tmp_path / "deep" / "bench"
    bench = make_bench(folder)
    assert sorted(entry.name for entry in folder.iterdir()) == sorted(SUBFOLDERS)
    places = (bench.coupons, bench.films, bench.drawings, bench.runs, bench.reports)
    assert tuple(place.name for place in places) == SUBFOLDERS
    assert all(place.is_dir() for place in places)
    with pytest.raises(Malformed, match="is no bench"):
        open_bench(folder)
    write_atomically(bench.rig, b"")
    assert open_bench(folder) == bench


def test_can_be_made_again_after_an_interruption_but_not_over_anything(tmp_path: Path) -> None:
    (tmp_path / "films").mkdir()
    bench = make_bench(tmp_path)
    make_bench(tmp_path)
    film = bench.films / "one.mp4"
    film.write_bytes(b"frames")
    with pytest.raises(Malformed, match="holds other things"):
        make_bench(tmp_path)
    write_atomically(bench.journal, b"")
    with pytest.raises(Malformed, match="is a bench already"):
        make_bench(tmp_path)
    assert film.read_bytes() == b"frames"


def test_makes_lost_subfolders_again(tmp_path: Path) -> None:
    (tmp_path / "journal.sqlite").touch()
    assert open_bench(tmp_path).films.is_dir()


def test_says_what_stands_in_place_of_a_bench(tmp_path: Path) -> None:
    file = tmp_path / "file"
    file.touch()
    for use in (open_bench, make_bench):
        with pytest.raises(Malformed, match="is a file, but a bench is a folder"):
            use(file)
        with pytest.raises(Missing, match="part of its path is a file"):
            use(file / "bench")
    with pytest.raises(Missing, match="There is no folder"):
        open_bench(tmp_path / "nowhere")
    with pytest.raises(Malformed, match=r"neither journal\.sqlite nor rig\.toml"):
        open_bench(tmp_path)


@contextmanager
def _without_the_right_to_write(folder: Path) -> Iterator[None]:
    """Take the right to write away, from the superuser too, who would have it anyway."""
    folder.chmod(0o555)
    superuser = os.geteuid() == 0
    if superuser:
        os.seteuid(NOBODY)
    try:
        yield
    finally:
        if superuser:
            os.seteuid(0)
        folder.chmod(0o755)


@pytest.mark.skipif(os.name != "posix", reason="permission bits are a POSIX matter")
def test_says_that_a_folder_cannot_be_written() -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for subfolder in SUBFOLDERS:
            (folder / subfolder).mkdir()
        (folder / "rig.toml").write_bytes(b"old")
        with _without_the_right_to_write(folder):
            with pytest.raises(Missing, match="you may not write there"):
                open_bench(folder)
            with pytest.raises(Missing, match="you may not write there"):
                make_bench(folder / "inner")
            with pytest.raises(Missing, match=r"rig\.toml could not be written: you may not write there"):
                write_atomically(folder / "rig.toml", b"new")
        assert (folder / "rig.toml").read_bytes() == b"old"


def test_replaces_a_file_in_one_step_and_leaves_nothing_beside_it(tmp_path: Path) -> None:
    path = tmp_path / "rig.toml"
    write_atomically(path, b"old")
    write_atomically(path, b"new")
    assert path.read_bytes() == b"new"
    assert list(tmp_path.iterdir()) == [path]


@pytest.mark.parametrize("failure", [OSError(errno.ENOSPC, "No space left on device"), KeyboardInterrupt()])
def test_a_full_disk_or_an_interruption_leaves_the_old_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, failure: BaseException
) -> None:
    path = tmp_path / "rig.toml"
    write_atomically(path, b"old")

    def fails(_: int) -> None:
        raise failure

    with monkeypatch.context() as patch:
        patch.setattr(os, "fsync", fails)
        with pytest.raises((Missing, KeyboardInterrupt)) as caught:
            write_atomically(path, b"new" * 1000)
    if isinstance(failure, OSError):
        assert str(caught.value) == (
            f"{path} could not be written: the disk is full. Free some space, then try again."
        )
    assert path.read_bytes() == b"old"
    assert list(tmp_path.iterdir()) == [path]


def test_says_when_the_place_is_a_folder_or_has_none(tmp_path: Path) -> None:
    with pytest.raises(Missing, match="its folder does not exist"):
        write_atomically(tmp_path / "nowhere" / "rig.toml", b"")
    (tmp_path / "rig.toml").mkdir()
    with pytest.raises(Missing, match="a folder has that name"):
        write_atomically(tmp_path / "rig.toml", b"")
