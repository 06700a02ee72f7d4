"""Choose which rows of a part's hatches are fired first, by the heat that they would find."""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from farface.app.draws import Draws
from farface.app.workbench import Workbench
from farface.etch.bench import EtchBench
from farface.etch.forecast import forecast
from farface.etch.unknowns import ABSORPTION, RESIDUE, SPOT
from farface.kernel import FarfaceError
from farface.part.left_heat import Media, media_of
from farface.part.near import point_times_s
from farface.part.order import Rows, coolest_stride
from farface.part.passes import Etching
from farface.part.place import HATCH_TURN_RAD, layouts_of
from farface.part.shapes import Shape, region_of
from farface.records import Pass, Setting

# The second hatch stands askew to the outlines of most drawings: its short rows in corners run hottest.
TURN = 1


def choose_rows(
    work: Workbench, etch: EtchBench, draws: Draws, shapes: tuple[Shape, ...], etching: Etching
) -> Rows | None:
    """Choose the rows' stride for the widest pocket, at the median of the draws; None without a pocket."""
    pockets = [shape for shape in shapes if shape.kind == "pocket"]
    if not pockets:
        return None
    widest = max(pockets, key=lambda shape: float(region_of(shape.paths_m).area))
    setting = etching.setting
    try:
        layouts = layouts_of(widest, pitch_m=setting.pitch_m, reach_m=etching.reach_m, passes=TURN + 1)
    except FarfaceError:
        # The planner says what is wrong with the shape.
        return None

    def clock_s(points_m: NDArray[np.float64]) -> NDArray[np.float64]:
        one = Pass(
            number=1, shape=widest.name, kind="pocket", setting=setting, points_m=points_m, focus_drop_m=0.0
        )
        return point_times_s(one, work.rig.scanner)

    return coolest_stride(
        layouts[TURN], pitch_m=setting.pitch_m, angle_rad=TURN * HATCH_TURN_RAD,
        media=_media(etch, draws), clock_s=clock_s,
        absorbed_j_per_m2=_absorbed_j_per_m2(etch, draws, setting),
    )  # fmt: skip


def _media(etch: EtchBench, draws: Draws) -> Media:
    return media_of(
        spot_radius_m=float(np.median(draws.values[:, SPOT])),
        absorption_per_m=float(np.median(draws.values[:, ABSORPTION])),
        bath_m2_per_s=etch.liquid.diffusivity_m2_per_s,
        glass_m2_per_s=etch.glass.diffusivity_m2_per_s,
        glass_effusivity_j_per_m2_k_sqrt_s=etch.glass.effusivity_j_per_m2_k_sqrt_s,
        drain=etch.drain,
    )


def _absorbed_j_per_m2(etch: EtchBench, draws: Draws, setting: Setting) -> float:
    """Return what a point leaves on the glass on average, of what its etching pulses absorb."""
    ahead = forecast(etch, [replace(setting, passes=1)], draws.values)
    flashes = setting.pulses_per_point / ahead.quantity("pulses_between_flashes")[:, 0]
    etching = flashes * ahead.quantity("inside_per_flash")[:, 0]
    absorbed = ahead.quantity("absorptance")[:, 0] * ahead.quantity("fluence_j_per_m2")[:, 0]
    return float(np.median(draws.values[:, RESIDUE] * etching * absorbed))
