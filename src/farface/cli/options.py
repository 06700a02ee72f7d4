"""The options that several commands share."""

from pathlib import Path
from typing import Annotated

import typer

Folder = Annotated[Path, typer.Option("--bench", envvar="FARFACE_BENCH", help="the bench's folder")]
Json = Annotated[bool, typer.Option("--json", help="print JSON in SI instead of words")]
Seed = Annotated[int, typer.Option("--seed", envvar="FARFACE_SEED", min=0, help="seed of every random draw")]
Prior = Annotated[bool, typer.Option("--prior", help="forget what was learned and use the prior")]
Energy = Annotated[str | None, typer.Option(help='pulse energy, such as "300 uJ"')]
Rate = Annotated[str | None, typer.Option(help='repetition rate, such as "40 kHz"')]
Pulses = Annotated[int | None, typer.Option(help="pulses per point")]
Pitch = Annotated[str | None, typer.Option(help='distance between points, such as "12 um"')]
Passes = Annotated[int | None, typer.Option(help="passes")]
Focus = Annotated[str | None, typer.Option(help='focus below the far face, such as "100 um"')]
XAxis = Annotated[str, typer.Option("--x", help='a setting, alone or with limits: "energy=50 uJ..600 uJ"')]
YAxis = Annotated[str, typer.Option("--y", help="another: energy, rate, pulses, pitch, passes or focus")]
