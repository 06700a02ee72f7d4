"""A bench made from the demo's own files, for tests."""

from importlib.resources import files
from pathlib import Path

from farface.files.bench_folder import Bench, make_bench


def demo_bench(folder: Path) -> Bench:
    """Lay out a bench with the demo's rig, bath and drawing."""
    places = make_bench(folder)
    sources = files("farface.app").joinpath("demo_files")
    places.rig.write_bytes(sources.joinpath("rig.toml").read_bytes())
    places.bath.write_bytes(sources.joinpath("bath.toml").read_bytes())
    (places.drawings / "chamber.svg").write_bytes(sources.joinpath("chamber.svg").read_bytes())
    return places
