"""Run coupons and films on an invented bench whose truth is deliberately not the model that is fitted.

It differs in the law of removal (logarithmic) and of the deposit (saturating), and in what no model knows:
a focus that drifts over the plate, plates of uneven thickness, a bath that ages, scatter from cell to cell,
outcomes misread and depths read with errors. All it yields is invented data.
"""

import math
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from farface.coupon.ending import Ending, fire_cell
from farface.coupon.firing_order import hatch_firing, point_s
from farface.coupon.hidden_truth import DEMO_TRUTH, HiddenTruth
from farface.coupon.layout import Coupon, TrialCell
from farface.coupon.misreading import misread_class, read_depth
from farface.coupon.pulse_by_pulse import ETCHED, FLASHED, fire
from farface.coupon.true_conditions import conditions_of, needed_rises_k
from farface.records import Bath, Outcome, Pierced, Rig, Setting

__all__ = ["DEMO_TRUTH", "Burst", "FiringTruth", "HiddenTruth", "Strike", "film_truth", "run_coupon"]

INVENTED_NOTE: Final = "invented data"

_WATCHED_THICKNESS_M = 0.3e-3  # thinner sheets are watched for the pass that pierces them
_READABLE_M = 2e-6  # shallower floors are not worth a reading


@dataclass(frozen=True, slots=True, kw_only=True)
class Burst:
    """Hold one flash of the bath and its bubble: when, where along the line, how deep below the face."""

    time_s: float
    along_m: float
    below_m: float
    radius_m: float
    life_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Strike:
    """Hold one pulse that met the deposit inside an open cavity and flashed at the face itself."""

    time_s: float
    along_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class FiringTruth:
    """Hold all that truly happened while a setting was fired for some time; invented data."""

    setting: Setting
    duration_s: float
    pulses: int
    bursts: tuple[Burst, ...]
    strikes: tuple[Strike, ...]
    invented: bool = True


def run_coupon(
    coupon: Coupon, rig: Rig, bath: Bath, truth: HiddenTruth, rng: np.random.Generator
) -> tuple[Outcome, ...]:
    """Fire every cell of a coupon in run order, and report each as a person would.

    A sheet thinner than 0.3 mm is watched for the pass that pierces it, and no depth is read off it.
    Cells reported as run away or broken have neither.
    """
    cells = coupon.in_run_order()
    thickness_error_m = truth.thickness_sd_m * rng.standard_normal()
    outcomes = []
    for turn, cell in enumerate(cells):
        conditions = conditions_of(
            cell.setting,
            rig,
            bath,
            truth,
            progress_share=turn / max(1, len(cells) - 1),
            thickness_error_m=thickness_error_m,
            scatter=(rng.standard_normal(), rng.standard_normal()),
        )
        ending = fire_cell(cell, coupon.shape, rig, truth, conditions, rng)
        thickness_m = rig.plate.thickness_m.value
        pierced = _pierced(ending, thickness_m, thickness_m + thickness_error_m)
        outcomes.append(_report(coupon.plate, cell, ending, pierced, truth, rng))
    return tuple(outcomes)


def film_truth(
    setting: Setting,
    rig: Rig,
    bath: Bath,
    truth: HiddenTruth,
    *,
    duration_s: float,
    rng: np.random.Generator,
    line_m: float = 2e-3,
) -> FiringTruth:
    """Fire lines of length ``line_m`` one after the other for some time, and tell all that truly happened.

    Places along the face count from the middle of the line. Unlike on a coupon, the laser does not stop
    when a place runs away.
    """
    columns = max(1, round(line_m / setting.pitch_m))
    lines = max(1, math.ceil(duration_s / (columns * point_s(setting, rig))))
    conditions = conditions_of(
        setting,
        rig,
        bath,
        truth,
        progress_share=0.5,
        thickness_error_m=truth.thickness_sd_m * rng.standard_normal(),
        scatter=(rng.standard_normal(), rng.standard_normal()),
    )._replace(runaway_step_m=math.inf)
    once = replace(setting, passes=1)
    firing = hatch_firing(once, rig, lines=lines, columns=columns, field_lines=lines, field_columns=columns)
    needed_k = needed_rises_k(firing.time_s.size, truth, rng)
    traces = fire(firing, needed_k, lines, columns, conditions)
    shown = firing.time_s < duration_s
    along_m = (firing.column - 0.5 * (columns - 1)) * setting.pitch_m
    bursts = [
        Burst(
            time_s=float(firing.time_s[i]),
            along_m=float(along_m[i]),
            below_m=float(traces.below_m[i]),
            radius_m=float(traces.radius_m[i]),
            life_s=float(traces.life_s[i]),
        )
        for i in np.flatnonzero(shown & (traces.kind == FLASHED))
    ]
    strikes = [
        Strike(time_s=float(firing.time_s[i]), along_m=float(along_m[i]))
        for i in np.flatnonzero(shown & (traces.kind == ETCHED))
    ]
    return FiringTruth(
        setting=setting,
        duration_s=duration_s,
        pulses=int(shown.sum()),
        bursts=tuple(bursts),
        strikes=tuple(strikes),
    )


def _pierced(ending: Ending, stated_m: float, true_m: float) -> Pierced | None:
    """Find the passes between which a thin sheet was pierced; a thick plate is not watched."""
    if stated_m > _WATCHED_THICKNESS_M:
        return None
    through = np.flatnonzero(ending.depths_m >= true_m)
    if not len(through):
        return Pierced(thickness_m=stated_m, whole_after=len(ending.depths_m), through_by=None)
    return Pierced(thickness_m=stated_m, whole_after=int(through[0]), through_by=int(through[0]) + 1)


def _report(
    plate: str,
    cell: TrialCell,
    ending: Ending,
    pierced: Pierced | None,
    truth: HiddenTruth,
    rng: np.random.Generator,
) -> Outcome:
    """Write down a cell as a person would; a hole or a crack has no depth worth reading."""
    seen = misread_class(ending.seen, truth, rng)
    whole = not {seen, ending.seen} & {"runaway", "broken"}
    depth_m = float(ending.depths_m[-1])
    readable = whole and pierced is None and seen in ("steady", "burst_below") and depth_m > _READABLE_M
    return Outcome(
        plate=plate,
        cell=cell.label,
        order=cell.order,
        setting=cell.setting,
        seen=seen,
        depth=read_depth(depth_m, truth, rng) if readable else None,
        pierced=pierced if whole else None,
        note=INVENTED_NOTE,
    )
