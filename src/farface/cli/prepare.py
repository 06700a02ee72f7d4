"""The commands that prepare a bench: bath, cell, focus, hazards, chemicals, sheets and their ticks."""

from pathlib import Path
from typing import Annotated

import typer

from farface.cli.options import Energy, Folder, Json, Rate, Seed
from farface.cli.use_case import run_on_bench

group = typer.Typer()


def _sheets(begun: str) -> list[str]:
    """Complete the name of a sheet."""
    return [name for name in ("set-up", "run", "clean-up") if name.startswith(begun)]


@group.command()
def prepare(
    bench: Folder = Path(), energy: Energy = None, rate: Rate = None, as_json: Json = False, seed: Seed = 1
) -> None:
    """Prepare the bench: recipe, cell, focus, hazards, sheets; says what is still unanswered.

    Example: farface prepare --energy "300 uJ"
    """
    from farface.app.prepare import prepare_bench
    from farface.app.settings import Typed

    typed = Typed(energy=energy, rate=rate)
    run_on_bench(bench, seed, as_json, lambda work, tell: prepare_bench(work, typed))


@group.command()
def recipe(
    bench: Folder = Path(),
    length: Annotated[str | None, typer.Option(help='absorption length wanted, such as "1 mm"')] = None,
    molarity: Annotated[str | None, typer.Option(help='or copper wanted, such as "1 mol/L"')] = None,
    volume: Annotated[str | None, typer.Option(help='such as "50 mL" (default: bath.toml)')] = None,
    salt: Annotated[str | None, typer.Option(help="pentahydrate (blue) or anhydrous (pale)")] = None,
    acid: Annotated[str | None, typer.Option(help='phosphoric acid wanted, such as "0.5 mol/L"')] = None,
    strength: Annotated[str, typer.Option(help="share by mass on the acid's label")] = "85 %",
    room_celsius: Annotated[
        float, typer.Option("--room", help="the room's temperature in degrees Celsius")
    ] = 20.0,
    reading: Annotated[
        str | None, typer.Option(help='share that passes the present bath, against water, such as "30 %"')
    ] = None,
    path: Annotated[str | None, typer.Option(help='path of that reading, such as "1 mm"')] = None,
    against: Annotated[str, typer.Option(help="what that reading is against: water or empty")] = "water",
    as_json: Json = False,
    seed: Seed = 1,
) -> None:
    """Work out a bath: what to weigh and pour, in which order, and what it will be.

    Example: farface recipe --length "1 mm" --volume "100 mL" --salt anhydrous --room 18
    """
    from farface.app.recipe import RecipeTyped, mix_bath

    typed = RecipeTyped(
        length=length, molarity=molarity, volume=volume, salt=salt, acid=acid, strength=strength,
        room_celsius=room_celsius, reading=reading, path=path, against=against,
    )  # fmt: skip
    run_on_bench(bench, seed, as_json, lambda work, tell: mix_bath(work, typed))


@group.command()
def wear(
    bench: Folder = Path(), energy: Energy = None, rate: Rate = None, as_json: Json = False, seed: Seed = 1
) -> None:
    """Bound what an hour at a setting takes out of the bath, and say when to renew it.

    Example: farface wear --energy "300 uJ" --rate "40 kHz"
    """
    from farface.app.settings import Typed
    from farface.app.wear import bath_wear

    run_on_bench(bench, seed, as_json, lambda work, tell: bath_wear(work, Typed(energy=energy, rate=rate)))


@group.command()
def cell(
    bench: Folder = Path(),
    sheet: Annotated[str, typer.Option(help="thickness of the clear sheet")] = "4 mm",
    kerf: Annotated[str, typer.Option(help="width that the cutter burns or saws away")] = "0.15 mm",
    length: Annotated[str | None, typer.Option(help="inner length along the camera's view")] = None,
    field: Annotated[str | None, typer.Option(help='side of the field worked, such as "20 mm"')] = None,
    also: Annotated[list[str] | None, typer.Option(help='seat for another plate, such as "0.16 mm"')] = None,
    camera: Annotated[
        str | None, typer.Option(help='the camera lens\'s working distance, such as "100 mm"')
    ] = None,
    as_json: Json = False,
    seed: Seed = 1,
) -> None:
    """Draw the cell: seat, level, fill, clearances, and flat panels to cut (SVG and DXF).

    Example: farface cell --also "0.16 mm" --camera "100 mm"
    """
    from farface.app.bench_cell import CellTyped
    from farface.app.cell import draw_cell

    typed = CellTyped(
        sheet=sheet, kerf=kerf, length=length, field=field, also=tuple(also or ()), camera_distance=camera
    )
    run_on_bench(bench, seed, as_json, lambda work, tell: draw_cell(work, typed))


@group.command()
def focus(
    bench: Folder = Path(),
    field: Annotated[str | None, typer.Option(help='side of the field worked, such as "20 mm"')] = None,
    travel: Annotated[
        str | None, typer.Option(help="how far the lens's slide still goes down from the front face")
    ] = None,
    working_distance: Annotated[
        str | None, typer.Option(help="free room between the lens and its focus")
    ] = None,
    ladder: Annotated[str | None, typer.Option(help="lay out a coupon of focus heights of this name")] = None,
    read: Annotated[Path | None, typer.Option(help="the filled CSV of such a ladder")] = None,
    energy: Energy = None,
    rate: Rate = None,
    as_json: Json = False,
    seed: Seed = 1,
) -> None:
    """Say how to find the far face, how exactly, how level, and what the front face bears.

    Example: farface focus --field "20 mm" --ladder F1 --energy "120 uJ"
    """
    from farface.app.focus import FocusTyped, explain_focus
    from farface.app.settings import Typed

    typed = FocusTyped(
        field=field, travel=travel, working_distance=working_distance, ladder=ladder, read=read
    )
    shot = Typed(energy=energy, rate=rate)
    run_on_bench(bench, seed, as_json, lambda work, tell: explain_focus(work, typed, shot))


@group.command()
def spot(
    table: Annotated[Path, typer.Argument(help="a CSV that you measured")],
    bench: Folder = Path(),
    as_json: Json = False,
    seed: Seed = 1,
) -> None:
    """Read a measured spot or energy; the columns say how it was measured.

    pulse_energy_uJ,diameter_um (marks), position_um,power_mW (blade), height_mm,radius_um (caustic),
    rate_kHz,power_W (power meter), pulses,threshold_uJ (incubation).

    Example: farface spot marks.csv
    """
    from farface.app.spot import read_spot

    run_on_bench(bench, seed, as_json, lambda work, tell: read_spot(work, table))


@group.command()
def depth(
    bench: Folder = Path(),
    travel: Annotated[
        list[str] | None, typer.Option(help='focus travel from rim to floor, such as "31 um"; repeat it')
    ] = None,
    through: Annotated[str, typer.Option(help="seen through: open, glass or liquid")] = "open",
    aperture: Annotated[float, typer.Option(help="numerical aperture of the dry lens")] = 0.25,
    loss: Annotated[str | None, typer.Option(help='or loss of weight, such as "1.2 mg"')] = None,
    area: Annotated[str | None, typer.Option(help='over an etched area, such as "81 mm2"')] = None,
    as_json: Json = False,
    seed: Seed = 1,
) -> None:
    """Turn focus travels, or a loss of weight, into a depth with its error for the table of outcomes.

    Example: farface depth --travel "31 um" --travel "33 um" --through glass --aperture 0.4
    """
    from farface.app.depth import DepthTyped, read_depth

    typed = DepthTyped(travel=tuple(travel or ()), through=through, aperture=aperture, loss=loss, area=area)
    run_on_bench(bench, seed, as_json, lambda work, tell: read_depth(work, typed))


@group.command()
def hazards(
    bench: Folder = Path(),
    energy: Energy = None,
    rate: Rate = None,
    eyewear_optical_density: Annotated[
        float | None, typer.Option("--eyewear", help="optical density on your eyewear's label")
    ] = None,
    as_json: Json = False,
    seed: Seed = 1,
) -> None:
    """Estimate exposure limits, eyewear and hazard distances of the beam. No clearance.

    Example: farface hazards --energy "500 uJ" --eyewear 7
    """
    from farface.app.hazards import estimate_hazards
    from farface.app.settings import Typed

    typed = Typed(energy=energy, rate=rate)
    run_on_bench(
        bench,
        seed,
        as_json,
        lambda work, tell: estimate_hazards(work, typed, eyewear_optical_density=eyewear_optical_density),
    )


@group.command()
def chemicals(bench: Folder = Path(), as_json: Json = False, seed: Seed = 1) -> None:
    """Tell hazards, first aid, spills, storage and waste of what the bath is made of.

    Example: farface chemicals
    """
    from farface.app.chemicals import tell_chemicals

    run_on_bench(bench, seed, as_json, lambda work, tell: tell_chemicals(work))


@group.command()
def sheet(
    only: Annotated[
        str | None,
        typer.Argument(help="set-up, run or clean-up (default: all three)", autocompletion=_sheets),
    ] = None,
    bench: Folder = Path(),
    energy: Energy = None,
    rate: Rate = None,
    as_json: Json = False,
    seed: Seed = 1,
) -> None:
    """Write the set-up, run and clean-up sheets to print, one page each, with boxes to tick.

    Example: farface sheet set-up --energy "300 uJ"
    """
    from farface.app.check_sheets import write_sheets
    from farface.app.settings import Typed

    typed = Typed(energy=energy, rate=rate)
    run_on_bench(bench, seed, as_json, lambda work, tell: write_sheets(work, typed, only=only))


@group.command()
def tick(
    name: Annotated[
        str, typer.Argument(metavar="SHEET", help="set-up, run or clean-up", autocompletion=_sheets)
    ],
    items: Annotated[list[str] | None, typer.Argument(help="items that are ticked")] = None,
    initials: Annotated[str, typer.Option(help="initials of the person who ticked")] = "",
    everything: Annotated[bool, typer.Option("--all", help="every box of the sheet is ticked")] = False,
    not_needed: Annotated[
        list[str] | None, typer.Option(help='an item that is not needed, and why: "acid=no acid here"')
    ] = None,
    withdraw: Annotated[list[str] | None, typer.Option(help="take the tick of an item back")] = None,
    note: Annotated[str, typer.Option(help="anything to remember")] = "",
    bench: Folder = Path(),
    as_json: Json = False,
    seed: Seed = 1,
) -> None:
    """Record the ticks of a sheet with your initials; plans are cleared only with every hazard answered.

    Example: farface tick set-up --all --initials AB --not-needed "acid=no acid in this bath"
    """
    from farface.app.ticks import TickOrder, tick_sheet

    order = TickOrder(
        sheet=name, initials=initials, everything=everything, items=tuple(items or ()),
        not_needed=tuple(not_needed or ()), withdraw=tuple(withdraw or ()), note=note,
    )  # fmt: skip
    run_on_bench(bench, seed, as_json, lambda work, tell: tick_sheet(work, order))
