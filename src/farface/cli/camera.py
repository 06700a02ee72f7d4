"""The command that plans a film."""

from pathlib import Path
from typing import Annotated

import typer

from farface.cli.options import Folder, Json, Rate, Seed
from farface.cli.use_case import run_on_bench

group = typer.Typer()


@group.command()
def camera(
    bench: Folder = Path(),
    life: Annotated[str, typer.Option(help="life of the shortest bubble to be seen")] = "50 us",
    length: Annotated[str, typer.Option(help="how much of the process to film")] = "1 s",
    frame_rate: Annotated[str | None, typer.Option(help='try another, such as "60 kHz"')] = None,
    exposure: Annotated[str | None, typer.Option(help='try another, such as "2 us"')] = None,
    pixel: Annotated[str | None, typer.Option(help='a pixel on the object, such as "10 um"')] = None,
    rate: Rate = None,
    as_json: Json = False,
    seed: Seed = 1,
) -> None:
    """Plan a film: frame rate, exposure, light and field for a bubble or every pulse, and what yours allows.

    Example: farface camera --life "50 us" --rate "40 kHz" --length "2 s"
    """
    from farface.app.camera import FilmWish, plan_film
    from farface.app.settings import Typed

    wish = FilmWish(life=life, length=length, frame_rate=frame_rate, exposure=exposure, pixel=pixel)
    run_on_bench(bench, seed, as_json, lambda work, tell: plan_film(work, wish, Typed(rate=rate)))
