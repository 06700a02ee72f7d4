"""Take a drawing to passes that reach its depths; write machine files once a person clears them."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from farface.app.answer import Answer, Json, plain, show_band, show_odds
from farface.app.crew import open_crew
from farface.app.draws import Draws, current_draws
from farface.app.goal import setting_for_depth
from farface.app.machine_files import write_machine_files
from farface.app.part_close_up import Close, close_up
from farface.app.part_pictures import plan_view
from farface.app.part_simulation import DepthBand, Outlook, depth_at_m, outlook, pierce_risk, simulate_band
from farface.app.progress import Progress, quiet
from farface.app.settings import Typed, setting_of, show_setting
from farface.app.ticks import standing_answers
from farface.app.workbench import Workbench, now_utc
from farface.etch.bench import EtchBench
from farface.files.atomic import write_atomically
from farface.files.depth_map import picture_png
from farface.files.drawing import read_drawing
from farface.files.same_file import check_unchanged, state_of
from farface.kernel import Missing, parse_quantity, show_quantity
from farface.materials import glass
from farface.part.passes import PartPlan
from farface.part.passes import plan_part as plan_passes
from farface.part.shapes import Drawing
from farface.records import Confirmation, Draft, Setting
from farface.report.content import Picture, Table
from farface.report.plan_view import passes_caption, passes_svg
from farface.safety.gate import REQUIRED_STATEMENT, clear

# What a part with shapes of several depths is planned for when nothing is typed: the deepest pocket.
USUAL_DEPTH_M: Final = 100e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class PartOrder:
    """Say what is wanted: the drawing, a depth for shapes without one, the risk accepted, who clears it.

    ``closely`` is under how many draws a corner is fired pulse by pulse, on the workers at an address if
    one is given.
    """

    drawing: Path
    depth: str | None = None
    risk: float = 0.1
    confirmed_by: str | None = None
    closely: int = 0
    workers: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class _Planned:
    """Hold a plan with all that was found out about it."""

    name: str
    drawing: Drawing
    setting: Setting
    seen: Outlook
    plan: PartPlan
    band: DepthBand
    draft: Draft
    close: Close | None


def plan_part(work: Workbench, typed: Typed, order: PartOrder, *, tell: Progress = quiet) -> Answer:
    """Plan, simulate and draw a part; with a confirmation, pass the gate and write the machine's files."""
    etch = work.etch()
    draws = current_draws(work, etch)
    before = state_of(order.drawing)
    planned = _plan(work, etch, draws, typed, order, tell)
    folder = work.places.runs / planned.name
    pictures = _pictures(work, planned, calibrated=draws.calibrated)
    files = _write_pictures(folder, pictures, planned.close)
    cleared_by = None
    if order.confirmed_by is not None:
        tell("writing the machine's files", 0.0)
        cleared = clear(
            planned.draft, work.rig, _confirmation(work, order.confirmed_by),
            accepted_break_risk=order.risk, accepted_pierce_risk=order.risk,
        )  # fmt: skip
        cleared_by = cleared.confirmation
        files += write_machine_files(folder, cleared, planned.band.median)
        tell("writing the machine's files", 1.0)
    answer = Answer(
        title=f"Part {planned.name} at {show_setting(planned.setting)} ({draws.basis})",
        sentences=(
            *_sentences(planned),
            *(() if planned.close is None else planned.close.sentences()),
            _clearance_words(cleared_by),
            *planned.plan.warnings,
            *planned.drawing.repaired,
        ),
        tables=_tables(planned, order),
        pictures=pictures,
        data=_data(planned, draws, cleared_by),
        files=files,
    )
    kept = work.keep(order.drawing, kind="drawing")
    check_unchanged(order.drawing, before)
    work.publish("part", answer, inputs=(kept, *draws.inputs), request=_request(typed, order))
    return answer


def _request(typed: Typed, order: PartOrder) -> dict[str, Json]:
    return {
        "typed": plain(typed), "drawing": order.drawing.name, "depth": order.depth, "risk": order.risk,
        "closely": order.closely,
    }  # fmt: skip


def _write_pictures(folder: Path, pictures: Sequence[Picture], close: Close | None) -> tuple[Path, ...]:
    folder.mkdir(parents=True, exist_ok=True)
    contents = {"plan.svg": str(pictures[0].svg).encode(), "depth-picture.png": pictures[1].png or b""}
    if close is not None:
        contents["close-up.png"] = close.png
    for name, content in contents.items():
        write_atomically(folder / name, content)
    return tuple(folder / name for name in contents)


def _plan(
    work: Workbench, etch: EtchBench, draws: Draws, typed: Typed, order: PartOrder, tell: Progress
) -> _Planned:
    drawing = read_drawing(order.drawing)
    depth_m = None if order.depth is None else parse_quantity(order.depth, "m", what="the wanted depth")
    deepest_m = max(
        (s.depth_m for s in drawing.shapes if s.depth_m is not None), default=depth_m or USUAL_DEPTH_M
    )
    tell("choosing a setting", 0.0)
    setting = (
        setting_of(work.rig, typed)
        if typed.energy is not None
        else setting_for_depth(work, etch, draws, typed, depth_m=deepest_m, risk=order.risk)
    )
    seen = outlook(etch, draws, setting, work.rng())
    tell("choosing a setting", 1.0)
    index = glass(work.rig.plate.glass).index(work.rig.laser.wavelength_m)
    etching = seen.etching(setting, index)
    tell("planning passes", 0.0)
    plan = plan_passes(drawing.shapes, rig=work.rig, etching=etching, depth_m=depth_m)
    tell("planning passes", 1.0)
    tell("simulating depth", 0.0)
    band = simulate_band(plan, seen, etching)
    tell("simulating depth", 1.0)
    most = max(sum(one.shape == goal.shape for one in plan.passes) for goal in plan.wanted)
    seen = outlook(etch, draws, setting, work.rng(), passes=most)
    name = order.drawing.stem
    draft = plan.draft(
        name=name, rig=work.rig, break_risk=seen.broken,
        pierce_risk=pierce_risk(plan, seen, thickness_m=work.rig.plate.thickness_m.value),
    )  # fmt: skip
    close = None
    if order.closely > 0:
        tell("firing a corner pulse by pulse", 0.0)
        with open_crew(order.workers) as crew:
            close = close_up(work, etch, draws, drawing.shapes, plan, count=order.closely, crew=crew)
        tell("firing a corner pulse by pulse", 1.0)
    return _Planned(
        name=name, drawing=drawing, setting=setting, seen=seen, plan=plan, band=band, draft=draft, close=close
    )


def _confirmation(work: Workbench, person: str) -> Confirmation:
    if not person.strip():
        raise Missing(
            "the plan is to be cleared by nobody. Give the name of the person who read the cautions."
        )
    return Confirmation(
        person=person.strip(), at_utc=now_utc(), statement=REQUIRED_STATEMENT, answers=standing_answers(work)
    )


def _pictures(work: Workbench, planned: _Planned, *, calibrated: bool) -> tuple[Picture, ...]:
    view = plan_view(
        planned.name, planned.drawing.shapes, planned.plan, planned.band, invented=work.invented,
        calibrated=calibrated,
    )  # fmt: skip
    png = picture_png(planned.band.median, title=f"{planned.name}: expected depth", invented=work.invented)
    return (
        Picture(caption=passes_caption(view), svg=passes_svg(view), narrow_svg=passes_svg(view, narrow=True)),
        Picture(
            caption="The depth expected at every place, at the median of the draws.", png=png, alt="depth map"
        ),
        *(() if planned.close is None else (planned.close.picture,)),
    )


def _sentences(planned: _Planned) -> tuple[str, str]:
    draft = planned.draft
    hours = draft.duration_s / 3600.0
    return (
        f"{len(draft.passes)} passes, about {hours:.1f} h of firing and jumps.",
        f"Odds that the plate breaks {show_odds(draft.break_risk)}, that a blind shape goes through "
        f"{show_odds(draft.pierce_risk)}.",
    )


def _clearance_words(cleared: Confirmation | None) -> str:
    if cleared is None:
        return (
            "Nothing was written for a machine. A person who has read the cautions answers the set-up sheet "
            '(`farface tick`), then clears the plan with --confirm "their name", which states: '
            + REQUIRED_STATEMENT
        )
    return f"Cleared by {cleared.person} at {cleared.at_utc}, who confirmed: {cleared.statement}"


def _tables(planned: _Planned, order: PartOrder) -> tuple[Table, Table]:
    rows = []
    band = planned.band
    for goal in planned.plan.wanted:
        count = sum(one.shape == goal.shape for one in planned.plan.passes)
        last = next(one for one in reversed(planned.plan.passes) if one.shape == goal.shape)
        expected_m = depth_at_m(band.median, last.points_m)
        shown = show_band(expected_m, band.low_share * expected_m, band.high_share * expected_m, "m")
        rows.append(
            (goal.shape, goal.kind, show_quantity(goal.depth_m, "m"), str(count), shown,
             show_quantity(last.focus_drop_m, "m"))
        )  # fmt: skip
    risks = (
        ("breaking", show_odds(planned.draft.break_risk), show_odds(order.risk)),
        ("piercing", show_odds(planned.draft.pierce_risk), show_odds(order.risk)),
    )
    return (
        Table(
            caption="Each shape: passes, expected depth with its 90 % band, and the last raise of the lens",
            header=("shape", "kind", "wanted", "passes", "expected", "raise lens by"), rows=tuple(rows),
        ),
        Table(caption="Risks for the whole part", header=("risk", "odds", "accepted"), rows=risks),
    )  # fmt: skip


def _data(planned: _Planned, draws: Draws, cleared: Confirmation | None) -> dict[str, Json]:
    data = {
        "calibrated": draws.calibrated, "setting": planned.setting, "wanted": planned.plan.wanted,
        "passes": len(planned.plan.passes), "duration_s": planned.draft.duration_s,
        "break_risk": planned.draft.break_risk, "pierce_risk": planned.draft.pierce_risk,
        "depth_per_pass_m": float(planned.seen.etching(planned.setting, 1.0).depth_per_pass_m),
        "depth_low_share": planned.band.low_share, "depth_high_share": planned.band.high_share,
        "warnings": planned.plan.warnings, "cleared": cleared,
        "close": None if planned.close is None else planned.close.data(),
    }  # fmt: skip
    return {key: plain(value) for key, value in data.items()}
