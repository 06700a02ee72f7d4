"""Turn a setting and its forecast into the views that the pictures are drawn from."""

import math

import numpy as np

from farface.app.axis import shown_values
from farface.app.draws import Draws
from farface.app.workbench import Workbench
from farface.etch.bench import EtchBench
from farface.etch.explain import Explanation, Step
from farface.etch.trace import trace
from farface.etch.unknowns import RISE_NEEDED
from farface.etch.window import Window
from farface.materials import glass
from farface.optics.bath import absorption_length_m
from farface.records import Known, Setting
from farface.report.section_view import SectionView
from farface.report.strip_view import CavitySpan, StripView
from farface.report.window_view import ChosenPoint, WindowAxis, WindowView


def section_view(work: Workbench, etch: EtchBench, told: Explanation, *, calibrated: bool) -> SectionView:
    """Show the bench at a setting: measured parts sharp, computed ones soft."""
    rig = work.rig
    camera = rig.camera
    return SectionView(
        title=f"{rig.name}: the section",
        invented=work.invented,
        calibrated=calibrated,
        thickness_m=rig.plate.thickness_m,
        spot_radius_m=etch.spot_radius_m,
        cone_half_angle_rad=math.atan(rig.lens.beam_radius_m / rig.lens.focal_m),
        index=glass(rig.plate.glass).index(rig.laser.wavelength_m),
        absorption_length_m=absorption_length_m(etch.absorption_per_m),
        pitch_m=told.setting.pitch_m,
        liquid_depth_m=rig.cell.liquid_depth_m,
        column_m=_computed(told.step("superheated column")),
        bubble_radius_m=_computed(told.step("largest bubble")),
        camera_field_m=None
        if camera is None
        else (camera.width_px * camera.pixel_m, camera.height_px * camera.pixel_m),
    )


def strip_view(work: Workbench, etch: EtchBench, setting: Setting, draws: Draws) -> StripView:
    """Follow one place under the middle draw; the camera's frames start with the first pulse."""
    middle = np.exp(np.median(np.log(draws.values), axis=0))
    told = trace(etch, setting, middle, work.rng())
    here = told.point == 0
    camera = work.rig.camera
    end_s = float(told.sample_s[-1])
    needed = draws.values[:, RISE_NEEDED]
    return StripView(
        title=f"{work.rig.name}: the strip",
        invented=work.invented,
        calibrated=draws.calibrated,
        pulse_times_s=told.pulse_s,
        trace_times_s=told.sample_s,
        trace_rise_k=told.rise_k,
        threshold_rise_k=Known(value=told.rise_needed_k, sd=float(needed.std()), how="computed"),
        ignition_times_s=np.array([cavity.opened_s for cavity in told.cavities]),
        cavities=tuple(
            CavitySpan(open_s=c.opened_s, close_s=c.closed_s, radius_max_m=c.radius_m) for c in told.cavities
        ),
        deposit_times_s=told.pulse_s,
        deposit_loading=told.deposit,
        removal_m=np.where(here, told.removal_m, 0.0),
        frame_times_s=None if camera is None else np.arange(0.0, end_s, 1.0 / camera.frame_hz),
        exposure_s=None if camera is None else camera.exposure_s,
    )


def window_view(
    work: Workbench, found: Window, *, calibrated: bool, points: tuple[tuple[int, str], ...] = ()
) -> WindowView:
    """Show a window in the units of its axes, with the cells worth a mark, by their place in it."""
    return WindowView(
        title=f"{work.rig.name}: the window",
        invented=work.invented,
        calibrated=calibrated,
        x=WindowAxis(name=found.x.words, unit=found.x.unit, values=shown_values(found.x, found.x_values)),
        y=WindowAxis(name=found.y.words, unit=found.y.unit, values=shown_values(found.y, found.y_values)),
        odds=found.odds,
        depth_median_m=found.depth_m,
        depth_low_m=found.depth_low_m,
        depth_high_m=found.depth_high_m,
        margin=found.margin,
        points=tuple(
            ChosenPoint(
                x=shown_values(found.x, [found.x_values[at % len(found.x_values)]])[0],
                y=shown_values(found.y, [found.y_values[at // len(found.x_values)]])[0],
                label=label,
            )
            for at, label in points
        ),
    )


def _computed(step: Step) -> Known:
    """Turn a band of nine draws in ten into a standard deviation."""
    return Known(value=step.median, sd=(step.high - step.low) / (2 * 1.645), how="computed")
