"""The `farface` command: every subcommand calls one use case and lays its answer out.

Imports of physics, storage and pictures wait until a command needs them, so that ``--help`` comes at once.
"""

import io
import sys
from pathlib import Path
from typing import Annotated

import typer

from farface.cli import camera, journal, manual, predict, prepare
from farface.cli.options import (
    Energy,
    Folder,
    Json,
    Passes,
    Pitch,
    Pulses,
    Rate,
    Seed,
    XAxis,
    YAxis,
)
from farface.cli.use_case import remember_options
from farface.cli.use_case import run_on_bench as _run
from farface.kernel import FarfaceError

app = typer.Typer(
    name="farface",
    help="Etch the far face of glass: plan the bench, predict, try, read films, learn, and plan parts.",
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"]},
)
EPILOG = (
    "Exit codes: 0 done; 1 a check found faults, or a recomputation other numbers; 2 nothing was done, and "
    "standard error says why; 130 stopped by Ctrl-C. Example: farface demo counting-chamber"
)

app.callback(invoke_without_command=True, epilog=EPILOG)(remember_options)
app.add_typer(journal.app, name="journal")
UNUSABLE = 2


def run() -> None:
    """Run the command; a `FarfaceError` is shown as its sentence and ends with code 2."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")  # a terminal that lacks a sign shows another, and goes on
    try:
        app(prog_name="farface")
    except FarfaceError as error:
        sys.stderr.write(f"farface: {error}\n")
        sys.exit(UNUSABLE)


@app.command()
def demo(
    folder: Annotated[Path, typer.Argument(help="a new or empty folder for the demo bench")],
    as_json: Json = False,
    seed: Seed = 1,
) -> None:
    """Make the demo bench (invented data) and walk the whole loop on it.

    Example: farface demo counting-chamber
    """
    from farface.app.demo import run_demo
    from farface.cli.show import progress, show

    with progress() as tell:
        answer = run_demo(folder, seed=seed, tell=tell)
    show(answer, as_json=as_json)


@app.command()
def coupon(
    name: Annotated[str, typer.Argument(help="what to call the plate, such as P1")],
    bench: Folder = Path(),
    x: XAxis = "energy",
    y: YAxis = "pulses",
    also: Annotated[list[str] | None, typer.Option(help="a further setting to vary, like --x")] = None,
    design: Annotated[
        str, typer.Option(help="factorial, latin_hypercube, sobol, or model: what would teach most")
    ] = "factorial",
    levels: Annotated[int, typer.Option(min=2, max=20, help="levels of each setting of a factorial")] = 6,
    cells: Annotated[int | None, typer.Option(min=2, help="settings of the other designs")] = None,
    repeats: Annotated[int, typer.Option(min=1, max=20, help="times each setting is tried")] = 1,
    blocks: Annotated[int, typer.Option(min=1, max=20, help="parts run one after the other")] = 1,
    plates: Annotated[int, typer.Option(min=1, max=20, help="plates to share the cells out over")] = 1,
    shape: Annotated[str, typer.Option(help="square, round or line")] = "square",
    size: Annotated[str, typer.Option(help="width of a cell")] = "2 mm",
    spacing: Annotated[str | None, typer.Option(help="between cells (default: as wide as fits)")] = None,
    margin: Annotated[str, typer.Option(help="kept free along the plate's edge")] = "2 mm",
    depth: Annotated[str, typer.Option(help="the depth that --design model works towards")] = "100 um",
    risk: Annotated[float, typer.Option(min=0.0, max=1.0, help="odds accepted in any one cell")] = 0.3,
    confirm: Annotated[
        str | None,
        typer.Option(help="your name: you have read the cautions and dealt with them, and clear the coupon"),
    ] = None,
    energy: Energy = None,
    rate: Rate = None,
    pulses: Pulses = None,
    pitch: Pitch = None,
    passes: Passes = None,
    as_json: Json = False,
    seed: Seed = 1,
) -> None:
    """Lay out plates of trial cells: drawings, bench sheet, a CSV to fill in; confirmed, also for a machine.

    Example: farface coupon P1 --x "energy=90 uJ..700 uJ" --y "pulses=2..12" --repeats 2 --blocks 2
    """
    from farface.app.coupon import lay_out_coupon
    from farface.app.coupon_order import CouponOrder, RoomTyped
    from farface.app.settings import Typed

    typed = Typed(energy=energy, rate=rate, pulses=pulses, pitch=pitch, passes=passes)
    order = CouponOrder(
        name=name, x=x, y=y, also=tuple(also or ()), design=design, levels=levels, cells=cells,
        repeats=repeats, blocks=blocks, plates=plates, depth=depth, risk=risk, confirmed_by=confirm,
        room=RoomTyped(shape=shape, size=size, spacing=spacing, margin=margin),
    )  # fmt: skip
    _run(bench, seed, as_json, lambda work, tell: lay_out_coupon(work, typed, order))


@app.command()
def outcomes(
    table: Annotated[Path, typer.Argument(help="the filled CSV of a coupon")],
    bench: Folder = Path(),
    corrects: Annotated[str | None, typer.Option(help="the record of an earlier reading it replaces")] = None,
    why: Annotated[str, typer.Option(help="why it does; needed with --corrects")] = "",
    as_json: Json = False,
    seed: Seed = 1,
) -> None:
    """Take a filled bench sheet into the journal; every bad row is named and nothing half-stored.

    Example: farface outcomes coupons/P1.csv
    """
    from farface.app.outcomes import take_outcomes
    from farface.app.workbench import Correction

    correction = None if corrects is None else Correction(corrects=corrects, why=why)
    _run(bench, seed, as_json, lambda work, tell: take_outcomes(work, table, correction=correction))


@app.command()
def learn(
    bench: Folder = Path(),
    steps: Annotated[int | None, typer.Option(min=50, help="most steps at the full evidence")] = None,
    as_json: Json = False,
    seed: Seed = 1,
) -> None:
    """Fit the unknowns to all outcomes and films; say what the plates taught and what they could not.

    Example: farface learn --seed 2
    """
    from farface.app.learn import learn_from_bench

    _run(bench, seed, as_json, lambda work, tell: learn_from_bench(work, steps=steps, tell=tell))


@app.command("next")
def next_(
    bench: Folder = Path(),
    depth: Annotated[str, typer.Option(help="the depth wanted in the end")] = "100 um",
    risk: Annotated[float, typer.Option(min=0.0, max=1.0, help="odds accepted in a cell")] = 0.15,
    cells: Annotated[int, typer.Option(min=1, max=60, help="how many cells to propose")] = 8,
    passes_at_most: Annotated[int, typer.Option(min=1, help="passes the depth may take in the end")] = 300,
    name: Annotated[str | None, typer.Option(help="lay the proposal out as a coupon of this name")] = None,
    rate: Rate = None,
    pitch: Pitch = None,
    passes: Passes = None,
    as_json: Json = False,
    seed: Seed = 1,
) -> None:
    """Propose the cells that would teach most within a risk you accept.

    Example: farface next --depth "100 um" --risk 0.1 --cells 12 --name P2
    """
    from farface.app.next_cells import NextOrder, propose_next
    from farface.app.settings import Typed

    typed = Typed(rate=rate, pitch=pitch, passes=passes)
    order = NextOrder(depth=depth, risk=risk, cells=cells, passes_at_most=passes_at_most, name=name)
    _run(bench, seed, as_json, lambda work, tell: propose_next(work, typed, order))


@app.command()
def part(
    drawing: Annotated[Path, typer.Argument(help="an SVG or DXF drawing")],
    bench: Folder = Path(),
    depth: Annotated[str | None, typer.Option(help="depth of shapes that carry none")] = None,
    risk: Annotated[
        float, typer.Option(min=0.0, max=1.0, help="odds of breaking or piercing accepted")
    ] = 0.1,
    confirm: Annotated[
        str | None,
        typer.Option(help="your name: you have read the cautions and dealt with them, and clear the plan"),
    ] = None,
    read: Annotated[
        list[str] | None,
        typer.Option(help='a depth read at a stop, such as "field after 40: 37 um +/- 2 um"; once for each'),
    ] = None,
    energy: Energy = None,
    rate: Rate = None,
    pulses: Pulses = None,
    pitch: Pitch = None,
    closely: Annotated[
        int, typer.Option(min=0, help="fire a corner pulse by pulse under so many draws; 0: none")
    ] = 24,
    interleave: Annotated[
        bool, typer.Option(help="fire rows apart from one another first, so that none meets a warm neighbour")
    ] = True,
    tabs: Annotated[
        int | None, typer.Option(min=0, max=50, help="tabs that hold a cut piece (default: 4 in thin sheets)")
    ] = None,
    workers: Annotated[
        str | None, typer.Option(help="address of a dask scheduler whose workers share the draws")
    ] = None,
    as_json: Json = False,
    seed: Seed = 1,
) -> None:
    """Plan the passes of a drawing, simulate them, and once confirmed write the files for a machine.

    Example: farface part drawings/chamber.svg --depth "100 um"
    """
    from farface.app.part import plan_part
    from farface.app.part_order import PartOrder
    from farface.app.settings import Typed

    typed = Typed(energy=energy, rate=rate, pulses=pulses, pitch=pitch)
    order = PartOrder(
        drawing=drawing,
        depth=depth,
        risk=risk,
        confirmed_by=confirm,
        closely=closely,
        workers=workers,
        readings=tuple(read or ()),
        interleave=interleave,
        tabs=tabs,
    )
    _run(bench, seed, as_json, lambda work, tell: plan_part(work, typed, order, tell=tell))


@app.command()
def report(bench: Folder = Path(), as_json: Json = False, seed: Seed = 1) -> None:
    """Write everything known of the bench into one self-contained HTML file.

    Example: farface report --bench counting-chamber
    """
    from farface.app.report import write_report

    _run(bench, seed, as_json, lambda work, tell: write_report(work))


@app.command("open")
def open_(
    bench: Annotated[Path, typer.Argument(help="the bench's folder")] = Path(),
    port: Annotated[
        int, typer.Option(min=0, max=65535, help="the port to serve on (0: the bench's usual, or a free one)")
    ] = 0,
    browser: Annotated[bool, typer.Option(help="open the browser on it")] = True,
    share: Annotated[
        str | None,
        typer.Option(help="an address of this machine at which phones may type outcomes in, by plain HTTP"),
    ] = None,
) -> None:
    """Open the bench in the browser: every page of the loop, on this machine only. Ctrl-C ends it.

    Example: farface open counting-chamber

    With --share ADDRESS a phone on that network may read coupons and type outcomes in, and nothing else,
    after it was given the code that is shown; whoever is on that network can read what is sent.
    """
    from farface.cli.use_case import JOURNAL
    from farface.web.serve import serve

    serve(bench, JOURNAL.get(), port=port, browser=browser, tell=typer.echo, share=share)


app.registered_commands[1:1] = predict.group.registered_commands
app.registered_commands += prepare.group.registered_commands
app.registered_commands += camera.group.registered_commands
app.registered_commands += manual.group.registered_commands
