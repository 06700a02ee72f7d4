"""Propose the cells to run next, within the risk a person accepts, and lay them out if asked."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from farface.app.answer import Answer, Json, plain, show_odds
from farface.app.coupon import lay_out_settings
from farface.app.coupon_order import PlateOrder
from farface.app.draws import Draws, current_draws
from farface.app.goal import candidate_levels, candidates
from farface.app.pictures import window_view
from farface.app.settings import Typed, setting_of, show_setting
from farface.app.workbench import Workbench
from farface.etch.bench import EtchBench
from farface.etch.window import window
from farface.kernel import parse_quantity, show_quantity
from farface.learn.goal import Choice, Goal
from farface.learn.next_cells import Proposal, next_plate
from farface.learn.plates import on_next_plate
from farface.report.content import Picture, Table
from farface.report.window_map import window_svg


@dataclass(frozen=True, slots=True, kw_only=True)
class NextOrder:
    """Say what is wanted in the end, the risk accepted in a cell, how many cells, and their coupon's name."""

    depth: str
    risk: float
    cells: int
    passes_at_most: int = 300
    name: str | None = None


def propose_next(work: Workbench, typed: Typed, order: NextOrder) -> Answer:
    """Propose cells that would teach most, none riskier than accepted, and what serves the goal so far."""
    etch = work.etch()
    draws = current_draws(work, etch)
    goal = Goal(
        depth_m=parse_quantity(order.depth, "m", what="the wanted depth"), passes_at_most=order.passes_at_most
    )
    values = on_next_plate(draws.values, work.rng())
    tried = candidates(work, typed)
    plate = next_plate(etch, values, tried, count=order.cells, accepted_risk=order.risk, goal=goal)
    proposals, choice = plate.proposals, plate.choice
    answer = Answer(
        title=f"Next cells towards {show_quantity(goal.depth_m, 'm')} ({draws.basis})",
        sentences=(_advice(proposals, order), f"Best so far: {choice.sentence}"),
        tables=(_table(proposals),),
        pictures=_pictures(work, etch, typed, proposals, values, draws),
        data=_data(proposals, choice, draws),
    )
    # The coupon that may follow is a record of its own.
    request = {"typed": plain(typed), "order": plain(replace(order, name=None))}
    work.publish("next", answer, inputs=draws.inputs, request=request)
    if order.name is None or not proposals:
        return answer
    laid = lay_out_settings(work, tuple(p.setting for p in proposals), PlateOrder(name=order.name))
    return Answer(
        title=answer.title, sentences=(*answer.sentences, *laid.sentences), tables=answer.tables,
        pictures=answer.pictures, data=answer.data, files=laid.files,
    )  # fmt: skip


def _advice(proposals: tuple[Proposal, ...], order: NextOrder) -> str:
    if not proposals:
        return (
            f"No cell stays within a risk of {show_odds(order.risk)}: accept more, or start gentler by hand."
        )
    total = sum(proposal.information for proposal in proposals)
    if total < 0.05 * len(proposals):
        return (
            f"{len(proposals)} cells found, but they would teach almost nothing more: time to make the part."
        )
    return (
        f"{len(proposals)} cells, the most instructive first; none above a risk of {show_odds(order.risk)}."
    )


def _table(proposals: tuple[Proposal, ...]) -> Table:
    return Table(
        caption="Cells that would teach most",
        header=("setting", "risk", "why"),
        rows=tuple((show_setting(p.setting), show_odds(p.prediction.failure_risk), p.why) for p in proposals),
    )


def _pictures(
    work: Workbench,
    etch: EtchBench,
    typed: Typed,
    proposals: tuple[Proposal, ...],
    values: NDArray[np.float64],
    draws: Draws,
) -> tuple[Picture, ...]:
    """Show the candidates as a window, with the proposed cells by their number."""
    if not proposals:
        return ()
    energies, pulses = candidate_levels(work, typed)
    around = setting_of(work.rig, typed)
    found = window(etch, around, values, x=("energy", energies), y=("pulses", pulses))
    at = {setting: k for k, setting in enumerate(found.settings)}
    points = tuple((at[p.setting], str(k)) for k, p in enumerate(proposals, start=1) if p.setting in at)
    view = window_view(work, found, calibrated=draws.calibrated, points=points)
    caption = (
        f"The {len(proposals)} proposed cells by their number, among the settings that were weighed, on a "
        "plate not yet run. They ask where one outcome gives way to another."
    )
    return (Picture(caption=caption, svg=window_svg(view), narrow_svg=window_svg(view, narrow=True)),)


def _data(proposals: tuple[Proposal, ...], choice: Choice, draws: Draws) -> dict[str, Json]:
    return {"calibrated": draws.calibrated, "proposals": plain(proposals), "best": plain(choice)}
