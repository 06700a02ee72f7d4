"""Tell whether a file was changed while it was read."""

from pathlib import Path

from farface.kernel import Malformed

# When it was last written, its size, and which file it is: a program that saves may put another in its place.
State = tuple[int, int, int]


def state_of(path: Path) -> State | None:
    """Note the state of a file before it is read; None where there is none."""
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_mtime_ns, found.st_size, found.st_ino


def check_unchanged(path: Path, before: State | None) -> None:
    """Raise `Malformed` where a file is no longer as it was: what was read may not be what was kept."""
    if state_of(path) != before:
        raise Malformed(
            f"{path.name} was changed while it was read. Nothing was taken; run the command again."
        )
