"""Check that spoilt files crash or hang no reader, nor make it write or fetch elsewhere."""

import os
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from farface.kernel import FarfaceError
from fuzz_targets import targets
from fuzzing import Figures, Target, fuzz

# So many inputs in all, over every reader; the usual slow run is bounded by time instead.
ASKED = int(os.environ.get("FARFACE_FUZZ_INPUTS", "0"))
USUAL_S = 6.0
NAMES = (
    *("rig", "bath", "address", "outcomes", "drawing", "dxf", "film-mp4", "film-npy", "film-tif"),
    *("zip", "manifest", "records", "journal"),
)
# These take longest, some of them for a database: they get this share of the others' inputs.
COSTLY = {
    "drawing": 0.5,
    "dxf": 0.2,
    "film-mp4": 0.4,
    "zip": 0.3,
    "manifest": 0.05,
    "records": 0.05,
    "journal": 0.05,
}


@pytest.fixture(scope="module")
def known(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Target]:
    return {target.name: target for target in targets(tmp_path_factory.mktemp("fuzz"))}


@pytest.fixture(scope="module")
def tell(pytestconfig: pytest.Config) -> Callable[[str], None]:
    capture = pytestconfig.pluginmanager.getplugin("capturemanager")

    def say(line: str) -> None:
        with capture.global_and_fixture_disabled():
            print(line, flush=True)

    return say


def test_every_reader_is_fuzzed(known: dict[str, Target]) -> None:
    assert tuple(known) == NAMES


@pytest.mark.parametrize("name", NAMES)
def test_a_few_spoilt_files(known: dict[str, Target], name: str) -> None:
    figures = fuzz(known[name], seed=1, inputs=40, most_s=5.0)
    assert figures.inputs > 0


@pytest.mark.slow
@pytest.mark.parametrize("name", NAMES)
def test_many_spoilt_files(known: dict[str, Target], name: str, tell: Callable[[str], None]) -> None:
    shares = {one: COSTLY.get(one, 1.0) for one in NAMES}
    inputs = round(ASKED * shares[name] / sum(shares.values())) + 1 if ASKED else 10**9
    figures = fuzz(known[name], seed=2, inputs=inputs, most_s=10**6 if ASKED else USUAL_S)
    tell(f"\nfuzzed {name}: {_words(figures)}")


def _words(figures: Figures) -> str:
    return (
        f"{figures.inputs} inputs, {figures.read} of them read, in {figures.took_s:.0f} s; slowest "
        f"{figures.slowest_s:.2f} s; {figures.memory_bytes / 1e6:.0f} MB taken"
    )


@settings(max_examples=60)
@given(data=st.data(), name=st.sampled_from(["rig", "bath", "address", "outcomes", "drawing", "dxf"]))
def test_any_text_is_read_or_refused(
    known: dict[str, Target], tmp_path_factory: pytest.TempPathFactory, data: st.DataObject, name: str
) -> None:
    path = tmp_path_factory.mktemp("any") / known[name].file
    path.write_bytes(data.draw(st.binary(max_size=200) | st.text(max_size=200).map(str.encode)))
    with pytest.raises(FarfaceError):
        known[name].read(path)
        raise FarfaceError("it was read, which is as well")


def test_the_watch_sees_what_it_should(known: dict[str, Target], tmp_path: Path) -> None:
    def faulty(read: Callable[[Path], object]) -> Target:
        return Target(name="faulty", file="x", read=read, examples=(b"x",))

    def crash(_: Path) -> None:
        os.kill(os.getpid(), 9)

    def escape(_: Path) -> None:
        (tmp_path / "evil").write_bytes(b"")

    def connect(_: Path) -> None:
        import socket

        with socket.socket() as one:
            one.connect_ex(("127.0.0.1", 9))

    def trip(_: Path) -> None:
        raise KeyError("a bug")

    for read, says in ((crash, "ended with -9"), (escape, "evil to write"), (connect, "socket.connect"),
                       (trip, "a bug")):  # fmt: skip
        with pytest.raises(AssertionError, match=says):
            fuzz(faulty(read), seed=1, inputs=3, most_s=5.0)
