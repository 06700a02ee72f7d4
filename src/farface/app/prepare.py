"""Prepare a bench in one go: every use case of the preparation in turn, and what is still missing."""

from collections.abc import Callable
from pathlib import Path

from farface.app.answer import Answer, plain
from farface.app.bench_cell import CellTyped
from farface.app.cell import draw_cell
from farface.app.check_sheets import write_sheets
from farface.app.chemicals import tell_chemicals
from farface.app.draws import fit_named
from farface.app.focus import FocusTyped, explain_focus
from farface.app.hazards import estimate_hazards
from farface.app.recipe import RecipeTyped, mix_bath
from farface.app.settings import Typed
from farface.app.ticks import open_words
from farface.app.titles import titled
from farface.app.wear import bath_wear
from farface.app.workbench import Workbench
from farface.kernel import FarfaceError
from farface.report.content import Table


def prepare_bench(work: Workbench, typed: Typed) -> Answer:
    """Go through bath, cell, focus, hazards, chemicals and sheets; a refusal is told and the rest goes on."""
    steps: tuple[tuple[str, Callable[[], Answer]], ...] = (
        ("recipe", lambda: mix_bath(work, RecipeTyped())),
        ("wear", lambda: bath_wear(work, typed)),
        ("cell", lambda: draw_cell(work, CellTyped())),
        ("focus", lambda: explain_focus(work, FocusTyped(), typed)),
        ("hazards", lambda: estimate_hazards(work, typed)),
        ("chemicals", lambda: tell_chemicals(work)),
        ("sheet", lambda: write_sheets(work, typed)),
    )
    rests_on = fit_named(work)
    rows: list[tuple[str, str]] = []
    files: list[Path] = []
    refused: list[str] = []
    for name, use_case in steps:
        try:
            told = use_case()
        except FarfaceError as error:
            refused.append(name)
            rows.append((f"farface {name}", f"not done: {error}"))
            continue
        rows.append((f"farface {name}", told.sentences[0]))
        files.extend(told.files)
    answer = Answer(
        title=titled(work, f"Preparing {work.rig.name}"),
        sentences=(
            "Each line is told in full by its own command."
            if not refused
            else f"Not done: {', '.join(refused)}. Put that right first.",
            open_words(work),
        ),
        tables=(
            Table(caption="Before the first pulse", header=("command", "what it says"), rows=tuple(rows)),
        ),
        data={"refused": refused, "steps": [{"command": row[0], "says": row[1]} for row in rows]},
        files=tuple(files),
    )
    work.publish("prepared", answer, inputs=rests_on, request={"typed": plain(typed)})
    return answer
