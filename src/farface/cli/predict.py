"""The commands that read a bench and predict what it will do: rig, bath, window, explain."""

from pathlib import Path

import typer

from farface.cli.options import (
    Energy,
    Focus,
    Folder,
    Json,
    Passes,
    Pitch,
    Prior,
    Pulses,
    Rate,
    Seed,
    XAxis,
    YAxis,
)
from farface.cli.use_case import run_on_bench

group = typer.Typer()


@group.command()
def rig(
    bench: Folder = Path(),
    energy: Energy = None,
    rate: Rate = None,
    as_json: Json = False,
    seed: Seed = 1,
) -> None:
    """Read the rig: spot, fluence at the far face, losses in the plate, how far to lower the lens.

    Example: farface rig --energy "300 uJ" --rate "40 kHz"
    """
    from farface.app.rig import explain_rig
    from farface.app.settings import Typed

    run_on_bench(bench, seed, as_json, lambda work, tell: explain_rig(work, Typed(energy=energy, rate=rate)))


@group.command()
def bath(bench: Folder = Path(), as_json: Json = False, seed: Seed = 1) -> None:
    """Read the bath: absorption, absorption length, salt to weigh.

    Example: farface bath --json
    """
    from farface.app.bath import explain_bath

    run_on_bench(bench, seed, as_json, lambda work, tell: explain_bath(work))


@group.command()
def window(
    bench: Folder = Path(),
    x: XAxis = "energy",
    y: YAxis = "pulses",
    energy: Energy = None,
    rate: Rate = None,
    pulses: Pulses = None,
    pitch: Pitch = None,
    passes: Passes = None,
    focus: Focus = None,
    prior: Prior = False,
    as_json: Json = False,
    seed: Seed = 1,
) -> None:
    """Map odds, depth per pass and runaway margin over two settings.

    Example: farface window --x "energy=50 uJ..600 uJ" --y "rate=20 kHz..80 kHz"
    """
    from farface.app.settings import Typed
    from farface.app.window import map_window

    typed = Typed(energy=energy, rate=rate, pulses=pulses, pitch=pitch, passes=passes, focus=focus)
    run_on_bench(bench, seed, as_json, lambda work, tell: map_window(work, typed, x=x, y=y, prior=prior))


@group.command()
def explain(
    bench: Folder = Path(),
    energy: Energy = None,
    rate: Rate = None,
    pulses: Pulses = None,
    pitch: Pitch = None,
    passes: Passes = None,
    focus: Focus = None,
    prior: Prior = False,
    as_json: Json = False,
    seed: Seed = 1,
) -> None:
    """Say why a setting does what it does, with the section and the strip as pictures.

    Example: farface explain --energy "300 uJ" --rate "40 kHz" --pulses 8
    """
    from farface.app.explain import explain_setting
    from farface.app.settings import Typed

    typed = Typed(energy=energy, rate=rate, pulses=pulses, pitch=pitch, passes=passes, focus=focus)
    run_on_bench(bench, seed, as_json, lambda work, tell: explain_setting(work, typed, prior=prior))
