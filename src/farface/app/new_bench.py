"""Begin a bench in a folder that is new or empty: from the invented demo, or from one's own rig."""

from importlib.resources import files
from pathlib import Path
from typing import Final

from farface.app.answer import Answer
from farface.files.atomic import write_atomically
from farface.files.bath_file import read_bath
from farface.files.bench_folder import Bench, is_bench, make_bench, open_bench
from farface.files.rig_file import read_rig
from farface.records import Bath, Rig

DEMO: Final = files("farface.app").joinpath("demo_files")


def look_at_new(folder: Path) -> Answer:
    """Say how a bench can begin here."""
    return Answer(
        title="A new bench",
        sentences=("A bench is a folder that holds everything of one set-up. This one is still empty.",),
        data={"new": True, "folder": str(folder)},
    )


def begun(folder: Path) -> bool:
    """Tell whether a folder is a bench already."""
    return is_bench(folder)


def opened_or_made(folder: Path) -> Bench:
    """Open a bench, or make its folders where there is none; raises as `make_bench` and `open_bench` do."""
    return open_bench(folder) if is_bench(folder) else make_bench(folder)


def begin_with_demo(folder: Path) -> None:
    """Make a bench with the demo's rig, bath and drawing, all of which are invented and say so."""
    places = make_bench(folder)
    for name, target in (("rig.toml", places.rig), ("bath.toml", places.bath),
                         ("chamber.svg", places.drawings / "chamber.svg")):  # fmt: skip
        write_atomically(target, DEMO.joinpath(name).read_bytes())


def demo_rig() -> Rig:
    """Read the demo's rig, whose numbers stand as examples in an empty form."""
    return read_rig(Path(str(DEMO.joinpath("rig.toml"))))


def demo_bath() -> Bath:
    """Read the demo's bath, whose numbers stand as examples in an empty form."""
    return read_bath(Path(str(DEMO.joinpath("bath.toml"))))
