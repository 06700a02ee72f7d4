"""Read and write rig.toml, the description of a set-up."""

from collections.abc import Mapping
from pathlib import Path
from typing import Final

from farface.files.atomic import write_atomically
from farface.files.rig_keys import CAMERA, CELL, LASER, LENS, PLATE, PLATE_THICKNESS, SCANNER, SPOT_RADIUS
from farface.files.tables import Entry, Table, needed, read_tables
from farface.files.toml_text import heading, known_line, line, quantity_lines, toml_string
from farface.kernel import Malformed, show_quantity
from farface.materials import glass_names
from farface.records import Camera, Cell, Laser, Lens, Plate, Rig, Scanner

_LAYOUT: Final[dict[str, tuple[str, ...]]] = {
    "rig": ("name", "invented"),
    "laser": tuple(entry.key for entry in LASER),
    "lens": tuple(entry.key for entry in LENS),
    "scanner": tuple(entry.key for entry in SCANNER),
    "plate": ("glass", "thickness", *(entry.key for entry in PLATE)),
    "cell": tuple(entry.key for entry in CELL),
    "camera": (*(entry.key for entry in CAMERA), "width", "height"),
    "spot": ("radius",),
}
_MOST_PIXELS: Final = 20_000
# Data sheets round the three figures that must agree; common practice, no source.
_ENERGY_SLACK: Final = 1.25


def read_rig(path: Path) -> Rig:
    """Read a rig; [camera] and [spot] may be absent.

    Raises `Missing`, `Malformed` or `OutOfRange` with one sentence that names the file and the key.
    """
    return rig_from(read_tables(path, _LAYOUT), file=path.name)


def rig_from(tables: Mapping[str, Table], *, file: str) -> Rig:
    """Read a rig from its tables, wherever they come from; raises as `read_rig` does."""
    head = needed(tables, "rig", file=file)
    rig = Rig(
        name=head.text("name"),
        invented=head.flag("invented"),
        laser=Laser(**needed(tables, "laser", file=file).quantities(LASER)),
        lens=Lens(**needed(tables, "lens", file=file).quantities(LENS)),
        scanner=Scanner(**needed(tables, "scanner", file=file).quantities(SCANNER)),
        plate=_read_plate(needed(tables, "plate", file=file)),
        cell=Cell(**needed(tables, "cell", file=file).quantities(CELL)),
        camera=_read_camera(tables["camera"]) if "camera" in tables else None,
        spot_radius_m=tables["spot"].known(SPOT_RADIUS) if "spot" in tables else None,
    )
    _check_laser(rig.laser, file)
    _check_room(rig, file)
    return rig


def write_rig(path: Path, rig: Rig) -> None:
    """Write a rig with a comment beside each key, so that `read_rig` gives back the very same record."""
    write_atomically(path, rig_text(rig).encode())


def rig_text(rig: Rig) -> str:
    """Give the text that `write_rig` writes."""
    plate = rig.plate
    lines = [
        "# The rig: what does not change from run to run.",
        '# Quantities are written "20 um +/- 2 um measured": value, uncertainty (one standard deviation) and',
        "# how it is known: measured, stated, computed or assumed. The last two may be left out.",
        *heading("rig"),
        line("name", toml_string(rig.name)),
        line("invented", str(rig.invented).lower(), "true if this rig does not exist"),
        *_part_lines("laser", LASER, rig.laser),
        *_part_lines("lens", LENS, rig.lens),
        *_part_lines("scanner", SCANNER, rig.scanner),
        *heading("plate"),
        line("glass", toml_string(plate.glass), f"one of {', '.join(glass_names())}"),
        known_line(PLATE_THICKNESS, plate.thickness_m),
        *quantity_lines(PLATE, plate),
        *_part_lines("cell", CELL, rig.cell),
    ]
    if rig.camera is not None:
        lines += _part_lines("camera", CAMERA, rig.camera)
        lines += [
            line("width", str(rig.camera.width_px), "pixels"),
            line("height", str(rig.camera.height_px), "pixels"),
        ]
    if rig.spot_radius_m is not None:
        lines += [*heading("spot"), known_line(SPOT_RADIUS, rig.spot_radius_m)]
    return "\n".join(lines) + "\n"


def _part_lines(name: str, entries: tuple[Entry, ...], part: object) -> list[str]:
    return [*heading(name), *quantity_lines(entries, part)]


def _read_plate(table: Table) -> Plate:
    glass = table.choice("glass", glass_names())
    thickness_m = table.known(PLATE_THICKNESS)
    return Plate(glass=glass, thickness_m=thickness_m, **table.quantities(PLATE))


def _read_camera(table: Table) -> Camera:
    width_px = table.count("width", low=1, high=_MOST_PIXELS)
    height_px = table.count("height", low=1, high=_MOST_PIXELS)
    return Camera(width_px=width_px, height_px=height_px, **table.quantities(CAMERA))


def _check_laser(laser: Laser, file: str) -> None:
    """Refuse a laser whose rates or ratings contradict one another."""
    low, corner, high = (
        show_quantity(rate_hz, "Hz") for rate_hz in (laser.rate_min_hz, laser.corner_hz, laser.rate_max_hz)
    )
    if not laser.rate_min_hz <= laser.corner_hz <= laser.rate_max_hz:
        raise Malformed(
            f"{file}, [laser] corner_rate is {corner}, but must lie between rate_min ({low}) and rate_max "
            f"({high}). Correct one of the three."
        )
    product_w = laser.rated_energy_j * laser.corner_hz
    if not 1 / _ENERGY_SLACK <= product_w / laser.rated_power_w <= _ENERGY_SLACK:
        raise Malformed(
            f"{file}, [laser] rated_power is {show_quantity(laser.rated_power_w, 'W')}, but rated_energy "
            f"times corner_rate is {show_quantity(product_w, 'W')}; the two must agree within a quarter. "
            "Correct one of the three."
        )


def _check_room(rig: Rig, file: str) -> None:
    """Refuse a bath deeper than its cell and an exposure longer than its frame."""
    cell, camera = rig.cell, rig.camera
    if cell.liquid_depth_m > cell.height_m:
        raise Malformed(
            f"{file}, [cell] liquid_depth is {show_quantity(cell.liquid_depth_m, 'm')}, but the cell is only "
            f"{show_quantity(cell.height_m, 'm')} high. Correct one of the two."
        )
    if camera is not None and camera.exposure_s * camera.frame_hz > 1.0 + 1e-9:
        raise Malformed(
            f"{file}, [camera] exposure is {show_quantity(camera.exposure_s, 's')}, but a frame lasts only "
            f"{show_quantity(1 / camera.frame_hz, 's')} at that frame_rate. Correct one of the two."
        )
