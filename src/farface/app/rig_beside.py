"""Say beside each number of a rig what follows from it, in a few words, with the source of what is known."""

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from farface.heat.closed import pulse_heating_k
from farface.kernel import FarfaceError, show_number, show_quantity
from farface.materials import glass, liquid
from farface.optics.bath import absorption_per_m
from farface.optics.energy import pulse_energy_available_j
from farface.optics.spot import far_face_spot, rig_lens_drop_m, spot_radius_m
from farface.records import Bath, Rig, Setting


@dataclass(frozen=True, slots=True, kw_only=True)
class _Bench:
    rig: Rig
    bath: Bath
    setting: Setting


def beside_rig(rig: Rig, bath: Bath, setting: Setting) -> dict[str, str]:
    """Give the words for each field that has a consequence worth telling, by the field's name."""
    bench = _Bench(rig=rig, bath=bath, setting=setting)
    told = {}
    for name, words in _WORDS.items():
        try:
            told[name] = words(bench)
        except FarfaceError as error:
            told[name] = str(error)
    return {name: words for name, words in told.items() if words}


def heating_k(rig: Rig, bath: Bath, setting: Setting) -> float:
    """Give by how much one pulse of a setting heats the bath at the middle of the far face."""
    water = liquid("water")
    alpha = absorption_per_m(bath, wavelength_m=rig.laser.wavelength_m)
    return pulse_heating_k(
        absorption_per_m=alpha.value,
        fluence_j_per_m2=far_face_spot(rig, setting).fluence_j_per_m2.value,
        density_kg_per_m3=water.density_kg_per_m3,
        heat_capacity_j_per_kg_k=water.heat_capacity_j_per_kg_k,
    )


def _wavelength(bench: _Bench) -> str:
    water = liquid("water")
    length_m = 1.0 / water.absorption_per_m(bench.rig.laser.wavelength_m)
    return f"water alone takes up 63 % of it in {show_quantity(length_m, 'm')} [{water.source('absorption')}]"


def _available(bench: _Bench) -> str:
    rate_hz = bench.setting.rate_hz
    energy_j = pulse_energy_available_j(bench.rig.laser, rate_hz)
    return f"at {show_quantity(rate_hz, 'Hz')} a pulse has up to {show_quantity(energy_j, 'J')}"


def _corner(bench: _Bench) -> str:
    laser = bench.rig.laser
    return (
        f"rated power over rated energy is {show_quantity(laser.rated_power_w / laser.rated_energy_j, 'Hz')}"
    )


def _cone(bench: _Bench) -> str:
    lens = bench.rig.lens
    return f"the cone's half-angle is {1e3 * math.atan(lens.beam_radius_m / lens.focal_m):.3g} mrad"


def _spot(bench: _Bench) -> str:
    known = spot_radius_m(bench.rig)
    if bench.rig.spot_radius_m is not None:
        found = far_face_spot(bench.rig, bench.setting).fluence_j_per_m2
        rise_k = heating_k(bench.rig, bench.bath, bench.setting)
        return (
            f"a pulse of {show_quantity(bench.setting.pulse_energy_j, 'J')} brings "
            f"{show_quantity(found.value, 'J/m2')} and heats the bath by {show_number(rise_k, 3)} K"
        )
    return (
        f"left empty: lens and beam give {show_quantity(known.value, 'm')} +/- "
        f"{show_quantity(known.sd, 'm', digits=2)}; marks or a blade would tell it better"
    )


def _glass(bench: _Bench) -> str:
    pane, wavelength_m = glass(bench.rig.plate.glass), bench.rig.laser.wavelength_m
    lost = 100.0 * far_face_spot(bench.rig, bench.setting).shares.bulk_share
    return (
        f"index {pane.index(wavelength_m):.4f} [{pane.source('index')}]; the plate takes up {lost:.2g} % "
        f"[{pane.source('absorption')}]"
    )


def _thickness(bench: _Bench) -> str:
    drop = rig_lens_drop_m(bench.rig)
    return (
        f"focus on the front face, then lower the lens by {show_quantity(drop.value, 'm')} +/- "
        f"{show_quantity(drop.sd, 'm', digits=2)}"
    )


def _speed(bench: _Bench) -> str:
    apart_m = bench.rig.scanner.mark_max_m_per_s / bench.setting.rate_hz
    return f"at top speed pulses lie {show_quantity(apart_m, 'm')} apart"


def _depth(bench: _Bench) -> str:
    alpha = absorption_per_m(bench.bath, wavelength_m=bench.rig.laser.wavelength_m)
    lengths = alpha.value * bench.rig.cell.liquid_depth_m
    left = 100.0 * math.exp(-lengths)
    shown = "less than 0.01 %" if left < 0.01 else f"{left:.2g} %"
    return f"{lengths:.3g} absorption lengths: {shown} of the light reaches the floor"


def _frames(bench: _Bench) -> str:
    camera = bench.rig.camera
    return "" if camera is None else f"{bench.setting.rate_hz / camera.frame_hz:.3g} pulses fall in a frame"


def _exposure(bench: _Bench) -> str:
    camera = bench.rig.camera
    return "" if camera is None else f"{100 * camera.exposure_s * camera.frame_hz:.3g} % of a frame's time"


def _field(bench: _Bench) -> str:
    camera = bench.rig.camera
    if camera is None:
        return ""
    across, down = (show_quantity(n * camera.pixel_m, "m") for n in (camera.width_px, camera.height_px))
    return f"the field is {across} by {down}"


_WORDS: Final[dict[str, Callable[[_Bench], str]]] = {
    "laser-wavelength": _wavelength, "laser-rated_energy": _available, "laser-corner_rate": _corner,
    "lens-beam_radius": _cone, "spot-radius": _spot, "plate-glass": _glass, "plate-thickness": _thickness,
    "scanner-mark_speed_max": _speed, "cell-liquid_depth": _depth, "camera-frame_rate": _frames,
    "camera-exposure": _exposure, "camera-pixel": _field,
}  # fmt: skip
