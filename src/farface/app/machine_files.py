"""Write what a machine or another program can run, from a plan that passed the gate and nothing else."""

from collections.abc import Iterable
from pathlib import Path

from farface.files.atomic import write_atomically
from farface.files.depth_map import grey_png, map_notes, npy_bytes
from farface.files.depth_solid import solid_stl
from farface.files.plan_dxf import plan_dxf
from farface.files.plan_svg import plan_svg
from farface.files.points import passes_csv, points_csv, points_parquet
from farface.files.program import programs
from farface.part.depth_map import DepthMap
from farface.safety.gate import Cleared


def write_machine_files(folder: Path, cleared: Cleared) -> tuple[Path, ...]:
    """Write passes and points (CSV, Parquet), strokes (SVG and DXF), and programs (ISO 6983)."""
    contents: dict[str, bytes | Iterable[bytes]] = {
        "passes.csv": passes_csv(cleared),
        "points.csv": points_csv(cleared),
        "points.parquet": points_parquet(cleared),
        "strokes.svg": plan_svg(cleared),
        "strokes.dxf": plan_dxf(cleared),
    }
    for program in programs(cleared):
        contents[f"layout-{program.layout}.nc"] = program.text
    return _written(folder, contents)


def write_depths(folder: Path, cleared: Cleared, depths: DepthMap) -> tuple[Path, ...]:
    """Write the depths that a cleared plan is expected to reach (NPY, PNG, STL)."""
    invented = cleared.draft.invented
    contents: dict[str, bytes | Iterable[bytes]] = {
        "depth.npy": npy_bytes(depths),
        "depth.json": map_notes(depths, invented=invented),
        "depth.png": grey_png(depths, invented=invented),
        "plate.stl": solid_stl(depths, thickness_m=cleared.rig.plate.thickness_m.value, invented=invented),
    }
    return _written(folder, contents)


def _written(folder: Path, contents: dict[str, bytes | Iterable[bytes]]) -> tuple[Path, ...]:
    folder.mkdir(parents=True, exist_ok=True)
    for name, content in contents.items():
        write_atomically(folder / name, content)
    return tuple(folder / name for name in contents)
