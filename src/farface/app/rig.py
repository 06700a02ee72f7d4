"""Explain a rig: what arrives at the far face, and how to set the focus."""

import math

from farface.app.answer import Answer, plain, show_known
from farface.app.settings import Typed, setting_of, show_setting
from farface.app.workbench import Workbench
from farface.kernel import show_quantity
from farface.materials import glass
from farface.optics.energy import pulse_energy_available_j
from farface.optics.plate import focus_shift_m, wavefront_error_m
from farface.optics.spot import FarFaceSpot, far_face_spot, rig_lens_drop_m
from farface.records import Rig, Setting
from farface.report.content import Table


def explain_rig(work: Workbench, typed: Typed) -> Answer:
    """Read the rig, say what one pulse of a setting brings to the far face, and record it."""
    answer = look_at_rig(work.rig, typed)
    work.publish("rig", answer, request={"typed": plain(typed)})
    return answer


def look_at_rig(rig: Rig, typed: Typed) -> Answer:
    """Say what one pulse of a setting brings to the far face; nothing is recorded."""
    setting = setting_of(rig, typed)
    spot = far_face_spot(rig, setting)
    drop = rig_lens_drop_m(rig)
    return Answer(
        title=f"Rig: {rig.name}",
        sentences=(
            f"Focus on the front face, then lower the lens by {show_quantity(drop.value, 'm', digits=4)}: "
            "the focus then lies on the far face.",
            f"At {show_setting(setting)} each pulse brings "
            f"{show_quantity(spot.fluence_j_per_m2.value, 'J/m2')} to the far face at its peak.",
        ),
        tables=(
            Table(caption="Plate and focus", header=_HEADER, rows=_plate_rows(rig)),
            Table(
                caption="From the laser to the far face", header=_HEADER, rows=_light_rows(rig, setting, spot)
            ),
        ),
        data={
            "setting": plain(setting), "spot_radius_m": plain(spot.radius_m), "shares": plain(spot.shares),
            "fluence_j_per_m2": plain(spot.fluence_j_per_m2), "front_j_per_m2": spot.front_j_per_m2,
            "lens_drop_m": plain(drop),
        },
    )  # fmt: skip


_HEADER = ("what", "value", "from")


def _plate_rows(rig: Rig) -> tuple[tuple[str, str, str], ...]:
    pane, thickness = glass(rig.plate.glass), rig.plate.thickness_m
    index = pane.index(rig.laser.wavelength_m)
    sine = math.sin(math.atan(rig.lens.beam_radius_m / rig.lens.focal_m))
    shift_m = focus_shift_m(thickness_m=thickness.value, index=index)
    wavefront_m = wavefront_error_m(thickness_m=thickness.value, index=index, sine=sine)
    return (
        ("plate", f"{pane.title}, {show_known(thickness, 'm')}", pane.source("density_kg_per_m3")),
        ("refractive index", f"{index:.4f}", pane.source("index")),
        ("focus moved deeper by the plate", show_quantity(shift_m, "m"), "t(1 - 1/n)"),
        ("lower the lens after focusing on the front face", show_known(rig_lens_drop_m(rig), "m"), "t/n"),
        ("spherical aberration of the plate", f"{wavefront_m / rig.laser.wavelength_m:.1e} wavelengths",
         "third order"),
    )  # fmt: skip


def _light_rows(rig: Rig, setting: Setting, spot: FarFaceSpot) -> tuple[tuple[str, str, str], ...]:
    shares, pane = spot.shares, glass(rig.plate.glass)
    available_j = pulse_energy_available_j(rig.laser, setting.rate_hz)
    return (
        ("pulse energy available", show_quantity(available_j, "J"),
         f"rig.toml, at {show_quantity(setting.rate_hz, 'Hz')}"),
        ("lost at the front face", f"{100 * shares.front_share:.2f} %", "Fresnel"),
        ("lost in the glass", f"{100 * shares.bulk_share:.2f} %", pane.source("absorption")),
        ("arrives at the far face", f"{100 * shares.arriving_share:.2f} %", "computed"),
        ("spot radius (1/e2) at the far face", show_known(spot.radius_m, "m"), "rig.toml"),
        ("peak fluence at the far face", show_known(spot.fluence_j_per_m2, "J/m2"), "2E/(pi w2)"),
        ("peak fluence on the front face", show_quantity(spot.front_j_per_m2, "J/m2"), "computed"),
    )  # fmt: skip
