"""Take a drawing to passes that reach its depths; write machine files once a person clears them."""

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Final

from farface.app.answer import Answer, Json, plain
from farface.app.clearance import clearance_words, confirmation
from farface.app.crew import open_crew
from farface.app.draws import Draws, current_draws
from farface.app.goal import setting_for_depth
from farface.app.machine_files import write_depths, write_machine_files
from farface.app.part_close_up import close_up
from farface.app.part_depths import deepened
from farface.app.part_map import keep_map
from farface.app.part_order import PartOrder, Planned, plan_that_was_run, setting_that_was_run
from farface.app.part_pictures import plan_view
from farface.app.part_readings import narrow, read_reading
from farface.app.part_rows import choose_rows
from farface.app.part_simulation import outlook, pierce_risk, simulate_band
from farface.app.part_words import data_of, sentences_of, tables_of
from farface.app.progress import Progress, quiet
from farface.app.settings import Typed, setting_of, show_setting
from farface.app.workbench import Workbench
from farface.etch.bench import EtchBench
from farface.files.atomic import write_atomically
from farface.files.depth_map import picture_png
from farface.files.drawing import read_drawing
from farface.files.same_file import check_unchanged, state_of
from farface.files.stops import stops_csv
from farface.journal import Input
from farface.kernel import parse_quantity
from farface.materials import glass
from farface.part.passes import plan_part as plan_passes
from farface.part.shapes import Drawing
from farface.records import Setting
from farface.report.content import Picture
from farface.report.plan_view import passes_caption, passes_svg
from farface.safety.gate import clear

# What a part with shapes of several depths is planned for when nothing is typed: the deepest pocket.
USUAL_DEPTH_M: Final = 100e-6
# Sheets thinner than this break when a cut piece drops; so many tabs hold it. Common practice, no source.
SHEET_M: Final = 0.3e-3
SHEET_TABS: Final = 4


def plan_part(work: Workbench, typed: Typed, order: PartOrder, *, tell: Progress = quiet) -> Answer:
    """Plan, simulate and draw a part; with a confirmation, pass the gate and write the machine's files."""
    etch = work.etch()
    draws = current_draws(work, etch)
    before = state_of(order.drawing)
    planned = _plan(work, etch, draws, typed, order, tell)
    folder = work.places.runs / planned.name
    pictures = _pictures(work, planned, calibrated=draws.calibrated)
    files = _write_pictures(folder, pictures, planned)
    cleared_by = None
    if order.confirmed_by is not None:
        tell("writing the machine's files", 0.0)
        cleared = clear(
            planned.draft, work.rig, confirmation(work, order.confirmed_by),
            accepted_break_risk=order.risk, accepted_pierce_risk=order.risk,
        )  # fmt: skip
        cleared_by = cleared.confirmation
        files += (*write_machine_files(folder, cleared), *write_depths(folder, cleared, planned.band.median))
        tell("writing the machine's files", 1.0)
    answer = Answer(
        title=f"Part {planned.name} at {show_setting(planned.setting)} ({draws.basis})",
        sentences=(
            *sentences_of(planned),
            *(() if planned.close is None else planned.close.sentences()),
            clearance_words(cleared_by),
            *planned.plan.warnings,
            *planned.drawing.repaired,
        ),
        tables=tables_of(planned, order),
        pictures=pictures,
        data=data_of(planned, draws, cleared_by) | {"files": [one.name for one in files]},
        files=files,
    )
    kept = work.keep(order.drawing, kind="drawing")
    check_unchanged(order.drawing, before)
    before_it = plan_that_was_run(work, order) if order.readings else None
    rests = () if before_it is None else (Input(role="plan", record=before_it.id),)
    inputs = (kept, *keep_map(work, planned.name, planned.band.median), *draws.inputs, *rests)
    work.publish("part", answer, inputs=inputs, request=_request(typed, order))
    return answer


def _request(typed: Typed, order: PartOrder) -> dict[str, Json]:
    return {
        "typed": plain(typed), "drawing": order.drawing.name, "depth": order.depth,
        "depths": dict(order.depths), "risk": order.risk, "closely": order.closely,
        "readings": order.readings, "interleave": order.interleave, "tabs": order.tabs,
    }  # fmt: skip


def _write_pictures(folder: Path, pictures: Sequence[Picture], planned: Planned) -> tuple[Path, ...]:
    folder.mkdir(parents=True, exist_ok=True)
    contents = {"plan.svg": str(pictures[0].svg).encode(), "depth-picture.png": pictures[1].png or b""}
    if planned.plan.stops:
        contents["stops.csv"] = stops_csv(planned.plan.stops, invented=planned.draft.invented)
    if planned.close is not None:
        contents["close-up.png"] = planned.close.png
    for name, content in contents.items():
        write_atomically(folder / name, content)
    return tuple(folder / name for name in contents)


def _plan(
    work: Workbench, etch: EtchBench, draws: Draws, typed: Typed, order: PartOrder, tell: Progress
) -> Planned:
    drawing = deepened(read_drawing(order.drawing), order.depths)
    depth_m = _depth_m(order)
    tell("choosing a setting", 0.0)
    setting = _setting(work, etch, draws, typed, order, drawing)
    seen = outlook(etch, draws, setting, work.rng())
    tell("choosing a setting", 1.0)
    index = glass(work.rig.plate.glass).index(work.rig.laser.wavelength_m)
    tell("planning passes", 0.0)
    readings = [read_reading(text) for text in order.readings]
    narrowed = narrow(readings, drawing.shapes, draws, seen, seen.etching(setting, index), work.rng())
    etching = narrowed.seen.etching(setting, index)
    rows = choose_rows(work, etch, draws, drawing.shapes, etching) if order.interleave else None
    etching = replace(etching, row_stride=1 if rows is None else rows.stride)
    plan = plan_passes(
        drawing.shapes, rig=work.rig, etching=etching, depth_m=depth_m, done=narrowed.done,
        tabs=_tabs(work, order),
    )  # fmt: skip
    tell("planning passes", 1.0)
    tell("simulating depth", 0.0)
    main = plan.deepest
    band = simulate_band(plan, narrowed.spread(main, plan.count(main.shape)), etching)
    tell("simulating depth", 1.0)
    most = max(1, *(plan.count(goal.shape) for goal in plan.wanted))
    odds = outlook(etch, draws, setting, work.rng(), passes=most)
    name = order.drawing.stem
    draft = plan.draft(
        name=name, rig=work.rig, break_risk=odds.broken,
        pierce_risk=pierce_risk(plan, narrowed.seen, thickness_m=work.rig.plate.thickness_m.value),
    )  # fmt: skip
    close = None
    if order.closely > 0 and plan.passes:
        tell("firing a corner pulse by pulse", 0.0)
        with open_crew(order.workers) as crew:
            close = close_up(work, etch, draws, drawing.shapes, plan, count=order.closely, crew=crew)
        tell("firing a corner pulse by pulse", 1.0)
    return Planned(
        name=name, drawing=drawing, setting=setting, etching=etching, narrowed=narrowed, plan=plan, band=band,
        draft=draft, close=close, rows=rows, tabs=_tabs(work, order),
        thickness_m=work.rig.plate.thickness_m,
    )  # fmt: skip


def _tabs(work: Workbench, order: PartOrder) -> int:
    """Hold cuts of a thin sheet by tabs unless something else is asked for."""
    thin = work.rig.plate.thickness_m.value < SHEET_M
    return order.tabs if order.tabs is not None else SHEET_TABS if thin else 0


def _depth_m(order: PartOrder) -> float | None:
    return None if order.depth is None else parse_quantity(order.depth, "m", what="the wanted depth")


def _setting(
    work: Workbench, etch: EtchBench, draws: Draws, typed: Typed, order: PartOrder, drawing: Drawing
) -> Setting:
    """Take the setting that was typed or run, or choose one for the deepest shape."""
    if typed.energy is not None:
        return setting_of(work.rig, typed)
    if order.readings:
        return setting_that_was_run(work, order)
    usual_m = _depth_m(order) or USUAL_DEPTH_M
    deepest_m = max((s.depth_m for s in drawing.shapes if s.depth_m is not None), default=usual_m)
    return setting_for_depth(work, etch, draws, typed, depth_m=deepest_m, risk=order.risk)


def _pictures(work: Workbench, planned: Planned, *, calibrated: bool) -> tuple[Picture, ...]:
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
