"""Fire one cell of the virtual bench, and say what truly became of it."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from farface.coupon.firing_order import hatch_firing
from farface.coupon.hidden_truth import HiddenTruth
from farface.coupon.layout import CellShape, TrialCell
from farface.coupon.pulse_by_pulse import FLASHED, Conditions, Traces, fire
from farface.coupon.true_conditions import needed_rises_k
from farface.records import Rig, Seen

# What goes by which name.
_STEADY_DEPTH_M, _TOUCHED_DEPTH_M, _TOUCHED_SHARE = 1e-6, 0.2e-6, 0.9
_FROSTED_FLASHES_A_POINT, _BURST_FLASHES_A_POINT, _LOW_BURSTS_SHARE = 0.02, 0.1, 0.45

# The patch of a cell that is fired for all of it: its inner points see as many neighbours as they would
# there. Beyond a reach of 8 points the patch is kept small, and its inner floor comes out a little shallow.
_INNER_LINES, _INNER_COLUMNS, _WIDEST_REACH = 2, 8, 8


@dataclass(frozen=True, slots=True, kw_only=True)
class Ending:
    """Hold what truly became of a cell: its class, and its mean depth after each pass, shape (passes,)."""

    seen: Seen
    depths_m: NDArray[np.float64]


def fire_cell(
    cell: TrialCell,
    shape: CellShape,
    rig: Rig,
    truth: HiddenTruth,
    conditions: Conditions,
    rng: np.random.Generator,
) -> Ending:
    """Fire a patch of a cell, pulse by pulse, and judge it by its inner points."""
    reach = min(_WIDEST_REACH, math.ceil(1.5 * conditions.spot_radius_m / conditions.pitch_m))
    lines = 1 if shape == "line" else 2 * reach + _INNER_LINES
    columns = 2 * reach + _INNER_COLUMNS
    field = max(columns, round(cell.size_m / conditions.pitch_m))
    firing = hatch_firing(
        cell.setting,
        rig,
        lines=lines,
        columns=columns,
        field_lines=1 if shape == "line" else field,
        field_columns=field,
    )
    needed_k = needed_rises_k(firing.time_s.size, truth, rng)
    traces = fire(firing, needed_k, lines, columns, conditions)
    inner_lines = slice(None) if shape == "line" else slice(reach, lines - reach)
    floor_m = traces.depth_m[:, inner_lines, reach : columns - reach]
    points_fired = traces.fired / cell.setting.pulses_per_point
    strength_share = math.exp(truth.breaking_spread_share * rng.standard_normal())
    seen = _judge(traces, floor_m[-1], points_fired, truth.breaking_j_per_m2 * strength_share, conditions)
    return Ending(seen=seen, depths_m=floor_m.mean(axis=(1, 2)))


def _judge(
    traces: Traces,
    floor_m: NDArray[np.float64],
    points_fired: float,
    strength_j_per_m2: float,
    conditions: Conditions,
) -> Seen:
    """Name what a person with a good lens would see."""
    flashed = traces.kind == FLASHED
    flashes_a_point = np.count_nonzero(flashed) / points_fired
    low = traces.below_m[flashed] > conditions.contact_share * traces.radius_m[flashed]
    if traces.absorbed_peak_j_per_m2 > strength_j_per_m2:
        return "broken"
    if traces.ran_away:
        return "runaway"
    if flashes_a_point > _BURST_FLASHES_A_POINT and low.mean() > _LOW_BURSTS_SHARE:
        return "burst_below"
    if floor_m.mean() > _STEADY_DEPTH_M and np.mean(floor_m > _TOUCHED_DEPTH_M) > _TOUCHED_SHARE:
        return "steady"
    return "frosted" if flashes_a_point > _FROSTED_FLASHES_A_POINT else "nothing"
