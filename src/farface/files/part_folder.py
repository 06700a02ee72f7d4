"""Put the files of a part into a folder: what to run, and what should come of it."""

from pathlib import Path

from farface.files.atomic import write_atomically
from farface.files.depth_map import grey_png, map_notes, npy_bytes, picture_png
from farface.files.depth_solid import solid_stl
from farface.files.plan_svg import plan_svg
from farface.files.points import passes_csv, points_csv
from farface.files.program import Words, programs
from farface.part.depth_map import DepthMap
from farface.safety.gate import Cleared


def write_plan(folder: Path, cleared: Cleared, *, words: Words | None = None) -> tuple[Path, ...]:
    """Write, into a folder of its own, a program a layout, points.csv, plan.svg and passes.csv.

    The programs are layout-1.nc and so on; passes.csv, written last, says when to run which.
    """
    written = []
    for program in programs(cleared, words):
        written.append(folder / f"layout-{program.layout}.nc")
        write_atomically(written[-1], b"".join(program.text))
    for name, content in {
        "points.csv": b"".join(points_csv(cleared)),
        "plan.svg": plan_svg(cleared),
        "passes.csv": passes_csv(cleared),
    }.items():
        written.append(folder / name)
        write_atomically(written[-1], content)
    return tuple(written)


def write_depth_map(
    folder: Path, depths: DepthMap, *, title: str, thickness_m: float, invented: bool
) -> tuple[Path, ...]:
    """Write depth_map.npy, depth_map_grey.png, depth_map.json, depth_map.png and depth_map.stl."""
    files = {
        "depth_map.npy": npy_bytes(depths),
        "depth_map_grey.png": grey_png(depths, invented=invented),
        "depth_map.json": map_notes(depths, invented=invented),
        "depth_map.png": picture_png(depths, title=title, invented=invented),
        "depth_map.stl": solid_stl(depths, thickness_m=thickness_m, invented=invented),
    }
    for name, content in files.items():
        write_atomically(folder / name, content)
    return tuple(folder / name for name in files)
