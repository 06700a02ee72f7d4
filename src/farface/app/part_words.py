"""Tell a part's plan in sentences, tables and data."""

from collections.abc import Iterator
from typing import Final

import numpy as np

from farface.app.answer import Json, plain, show_band, show_odds
from farface.app.draws import Draws
from farface.app.part_order import PartOrder, Planned
from farface.app.part_simulation import depth_at_m
from farface.kernel import show_quantity
from farface.part.order import Rows
from farface.part.place import TAB_M, TABS_FROM
from farface.part.stops import Stop
from farface.records import Confirmation, Wanted
from farface.report.content import Table

# Odds of being through that a cut's table names passes for.
CUT_ODDS: Final = (0.05, 0.5, 0.95)


def sentences_of(planned: Planned) -> tuple[str, ...]:
    """Say how long it takes and what may go wrong."""
    draft = planned.draft
    hours, earlier = draft.duration_s / 3600.0, len(planned.plan.earlier)
    return (
        f"{len(draft.passes)} passes{' still to run' if earlier else ''}, about {hours:.1f} h of firing and"
        f" jumps{f'; {earlier} were run' if earlier else ''}.",
        f"Odds that the plate breaks {show_odds(draft.break_risk)}, that a blind shape goes through "
        f"{show_odds(draft.pierce_risk)}.",
        *_rows_words(planned.rows),
        *_tabs_words(planned),
    )


def _rows_words(rows: Rows | None) -> Iterator[str]:
    if rows is not None and rows.stride > 1:
        yield (
            f"Every {rows.stride}th row of a hatch is fired first, those between later: the hottest point "
            f"meets on average {rows.chosen_k:.0f} K of left-over heat instead of {rows.plain_k:.0f} K, for "
            f"{rows.longer_share:.1%} more time."
        )


def _tabs_words(planned: Planned) -> Iterator[str]:
    if planned.tabs and any(goal.kind == "cut" for goal in planned.plan.wanted):
        yield (
            f"{planned.tabs} tabs hold each cut piece, {TAB_M * 1e3:g} mm wide and left standing after "
            f"{TABS_FROM:.0%} of the passes. Break them under water, with goggles and gloves."
        )


def tables_of(planned: Planned, order: PartOrder) -> tuple[Table, ...]:
    """Lay out the shapes with their odds, the stops, and the risks of the whole part."""
    shapes = Table(
        caption="Each shape: passes still to run, depth in the end with its 90 % band, odds of being "
        "through, last raise of the lens",
        header=("shape", "kind", "wanted", "passes", "expected", "through", "raise lens by"),
        rows=tuple(_shape_row(planned, goal) for goal in planned.plan.wanted),
    )
    risks = (
        ("breaking", show_odds(planned.draft.break_risk), show_odds(order.risk)),
        ("piercing", show_odds(planned.draft.pierce_risk), show_odds(order.risk)),
    )
    risk = Table(caption="Risks for the whole part", header=("risk", "odds", "accepted"), rows=risks)
    stops = [_stop_row(stop) for stop in planned.plan.stops]
    stop = Table(
        caption="Stops: after this pass read the depth at these places (x, y in mm); --read takes their mean",
        header=("after pass", "shape", "expected", "places", "give it as"), rows=tuple(stops),
    )  # fmt: skip
    cuts = [_cut_row(planned, goal) for goal in planned.plan.wanted if goal.kind == "cut"]
    cut = Table(
        caption="Cuts: the pass over the shape by which it is through with these odds; look after each",
        header=("shape", *(f"{odds:.0%}" for odds in CUT_ODDS)), rows=tuple(cuts),
    )  # fmt: skip
    return (shapes, *((stop,) if stops else ()), *((cut,) if cuts else ()), risk)


def _shape_row(planned: Planned, goal: Wanted) -> tuple[str, ...]:
    passes = [one for one in (*planned.plan.earlier, *planned.plan.passes) if one.shape == goal.shape]
    count = planned.plan.count(goal.shape)
    expected_m = depth_at_m(planned.band.median, passes[-1].points_m)
    spread = planned.narrowed.spread(goal, count)
    return (
        goal.shape, goal.kind, show_quantity(goal.depth_m, "m"), str(count),
        show_band(expected_m, spread.low_share * expected_m, spread.high_share * expected_m, "m"),
        show_odds(float(planned.piercing_odds(goal)[-1])), show_quantity(passes[-1].focus_drop_m, "m"),
    )  # fmt: skip


def _stop_row(stop: Stop) -> tuple[str, ...]:
    places = "; ".join(f"{1e3 * x_m:.2f}, {1e3 * y_m:.2f}" for x_m, y_m in stop.places_m.tolist())
    return (
        str(stop.number), stop.shape, show_quantity(stop.expected_m, "m"), places,
        f'"{stop.shape} after {stop.passes}: ..."',
    )  # fmt: skip


def _cut_row(planned: Planned, goal: Wanted) -> tuple[str, ...]:
    odds = planned.piercing_odds(goal)
    by = [int(np.searchsorted(odds, wished)) for wished in CUT_ODDS]
    return (goal.shape, *(str(at) if at < len(odds) else f"not by {len(odds) - 1}" for at in by))


def data_of(planned: Planned, draws: Draws, cleared: Confirmation | None) -> dict[str, Json]:
    """Return what was planned as numbers in SI."""
    data = {
        "calibrated": draws.calibrated, "setting": planned.setting, "wanted": planned.plan.wanted,
        "passes": len(planned.plan.passes), "duration_s": planned.draft.duration_s,
        "break_risk": planned.draft.break_risk, "pierce_risk": planned.draft.pierce_risk,
        "depth_per_pass_m": planned.etching.depth_per_pass_m,
        "depth_low_share": planned.band.low_share, "depth_high_share": planned.band.high_share,
        "warnings": planned.plan.warnings, "cleared": cleared, "passes_run": len(planned.plan.earlier),
        "stops": planned.plan.stops, "rows": planned.rows, "tabs": planned.tabs,
        "reached_m": planned.plan.reached_m,
        "through_odds": {goal.shape: planned.piercing_odds(goal) for goal in planned.plan.wanted},
        "close": None if planned.close is None else planned.close.data(),
    }  # fmt: skip
    return {key: plain(value) for key, value in data.items()}
