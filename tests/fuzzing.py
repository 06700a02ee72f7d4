"""Feed a reader with spoilt files in a process of its own, and see that it only ever answers or refuses."""

import json
import os
import random
import re
import resource
import signal
import sys
import tempfile
import time
import traceback
from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from types import FrameType
from typing import Any

from farface.kernel import FarfaceError

HANG_S = 5.0  # of processor time, for a busy machine lets any reader wait
STUCK_S = 60.0  # of the clock, for one that waits for something
MOST_BYTES = 1_000_000_000
LONGEST = 200_000
# Files of this machine that some spoilt inputs name; no reader has any business there.
BAIT = ("/etc/hostname", "/etc/passwd")

Read = Callable[[Path], object]


@dataclass(frozen=True, slots=True, kw_only=True)
class Target:
    """Name a reader: the file it reads, sound examples of it, and words of its language."""

    name: str
    file: str
    read: Read
    examples: tuple[bytes, ...]
    words: tuple[bytes, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Figures:
    """Say what came of it: inputs fed, how many were read, the slowest, the memory taken."""

    inputs: int
    read: int
    slowest_s: float
    took_s: float
    memory_bytes: int


class _Hang(BaseException):
    """Stop a reader that takes too long."""


def spoil(draw: random.Random, examples: Sequence[bytes], words: Sequence[bytes]) -> bytes:
    """Change a sound example in one to six places, as transport, people and ill will do."""
    content = bytearray(draw.choice(examples))
    for _ in range(draw.choice((0, 1, 1, 1, 2, 3, 6))):
        at = draw.randrange(len(content) + 1)
        end = min(len(content), at + draw.choice((1, 2, 4, 16, 200)))
        match draw.randrange(9):
            case 0 if content:
                content[at % len(content)] ^= 1 << draw.randrange(8)
            case 1:
                content[at:end] = draw.randbytes(end - at)
            case 2:
                del content[at:end]
            case 3:
                content[at:at] = content[at:end] * draw.choice((1, 2, 50))
            case 4 if words:
                content[at:at] = draw.choice(words)
            case 5:
                other = draw.choice(examples)
                start = draw.randrange(len(other) + 1)
                content[at:end] = other[start : start + draw.choice((4, 40, 400))]
            case 6:
                del content[at:]
            case 7:
                content = _other_number(draw, content)
            case _:
                content[at:end] = draw.choice(
                    (b"\xff\xff\xff\xff", bytes(4), b"\x7f\xff\xff\xff", b"\x80" * 8)
                )
    return bytes(content[:LONGEST])


NUMBERS = (b"-1", b"0", b"1e999", b"nan", b"9" * 30, b"1e-320", b"0x7fffffff", b"-0.0", b"4294967296")


def _other_number(draw: random.Random, content: bytearray) -> bytearray:
    """Put another number in the place of one."""
    found = list(re.finditer(rb"\d+(\.\d+)?", content))
    if not found:
        return content
    one = draw.choice(found)
    return content[: one.start()] + draw.choice(NUMBERS) + content[one.end() :]


def fuzz(target: Target, *, seed: int, inputs: int, most_s: float) -> Figures:
    """Feed so many inputs, or as many as there is time for; raise `AssertionError` with what went wrong.

    The reader runs in a fork, so that a crash of a library is seen and cannot take the test with it.
    """
    reading, pipe = os.pipe()
    pid = os.fork()
    if pid == 0:
        os.close(reading)
        status = 1
        try:
            with tempfile.TemporaryDirectory(dir=_fast()) as folder:
                said = json.dumps(asdict(_feed(target, Path(folder), random.Random(seed), inputs, most_s)))
            status = 0
        except BaseException:
            said = traceback.format_exc()
        os.write(pipe, said.encode()[-60_000:])
        os._exit(status)
    os.close(pipe)
    with os.fdopen(reading, "rb") as stream:
        told = stream.read().decode()
    ended = os.waitstatus_to_exitcode(os.waitpid(pid, 0)[1])
    assert ended == 0, f"{target.name}, seed {seed}, ended with {ended}: {told}"
    figures = Figures(**json.loads(told))
    assert figures.memory_bytes < MOST_BYTES, f"{target.name} took {figures.memory_bytes / 1e6:.0f} MB"
    return figures


def _fast() -> str | None:
    """Name a file system in memory, where there is one: a disk would take most of the time."""
    return "/dev/shm" if os.access("/dev/shm", os.W_OK) else None


def _feed(target: Target, folder: Path, draw: random.Random, inputs: int, most_s: float) -> Figures:
    inner = folder / "inner"
    inner.mkdir()
    watch = _Watch(folder)
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    signal.signal(signal.SIGPROF, _stop)
    signal.signal(signal.SIGALRM, _stop)
    started_s, slowest_s, done, read = time.monotonic(), 0.0, 0, 0
    while done < inputs and time.monotonic() - started_s < most_s:
        content = spoil(draw, target.examples, target.words)
        path = inner / target.file
        path.write_bytes(content)
        one_s = time.process_time()
        signal.setitimer(signal.ITIMER_PROF, HANG_S)
        signal.setitimer(signal.ITIMER_REAL, STUCK_S)
        try:
            target.read(path)
            read += 1
        except FarfaceError as error:
            assert str(error).strip(), "a refusal without words"
        except BaseException as error:
            kept = Path(tempfile.gettempdir()) / f"farface-fuzz-{target.name}"
            kept.write_bytes(content)
            raise AssertionError(f"{target.name}: {error!r} on the input kept in {kept.name}") from error
        finally:
            signal.setitimer(signal.ITIMER_PROF, 0)
            signal.setitimer(signal.ITIMER_REAL, 0)
        slowest_s = max(slowest_s, time.process_time() - one_s)
        assert not watch.seen, f"{target.name} reached for {watch.seen}"
        done += 1
    after = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return Figures(
        inputs=done, read=read, slowest_s=slowest_s, took_s=time.monotonic() - started_s,
        memory_bytes=1024 * (after - before),
    )  # fmt: skip


def _stop(_: int, frame: FrameType | None) -> None:
    where = traceback.format_stack(frame)[-3:]
    raise _Hang(f"over {HANG_S} s of work or {STUCK_S} s of waiting at {''.join(where)}")


class _Watch:
    """Note every file written outside of a folder, every bait taken, and every reach for the network."""

    def __init__(self, folder: Path) -> None:
        self.folder = str(folder.resolve())
        self.seen: list[str] = []
        sys.addaudithook(self._note)

    def _note(self, event: str, arguments: tuple[Any, ...]) -> None:
        if event in (
            "socket.connect",
            "socket.getaddrinfo",
            "subprocess.Popen",
            "os.system",
            "urllib.Request",
        ):
            self.seen.append(f"{event} {arguments[1:]}")
        if event == "open" and isinstance(arguments[0], str | bytes):
            path, _, flags = arguments
            wrote = isinstance(flags, int) and flags & (os.O_WRONLY | os.O_RDWR | os.O_CREAT)
            name = os.path.realpath(os.fsdecode(path))
            if name in BAIT:
                self.seen.append(f"{name} to read")
            if wrote and not name.startswith((self.folder, "/dev/null")) and "farface-fuzz" not in name:
                self.seen.append(f"{name} to write")
