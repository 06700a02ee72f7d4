"""The commands that plan a film and read one."""

from pathlib import Path
from typing import Annotated

import typer

from farface.cli.options import Energy, Folder, Json, Passes, Pitch, Pulses, Rate, Seed
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


@group.command()
def footage(
    film: Annotated[
        list[Path],
        typer.Argument(help="MP4, MOV, MKV, AVI, TIFF, NPY, raw levels, or a folder of PNGs; many at once"),
    ],
    bench: Folder = Path(),
    plate: Annotated[str, typer.Option(help="the plate it shows, such as P1")] = "unnamed",
    cell: Annotated[
        str | None,
        typer.Option(help="the cell it shows, such as B3, of the coupon named by --plate"),
    ] = None,
    frame_rate: Annotated[
        str | None, typer.Option(help='the camera\'s true rate, such as "30 kHz" (default: rig.toml)')
    ] = None,
    exposure: Annotated[str | None, typer.Option(help='such as "8 us" (default: rig.toml)')] = None,
    pixel: Annotated[
        str | None,
        typer.Option(
            help='a pixel on the object: "10 um", "20 um / 2" (sensor / magnification), "2 mm = 198 px" (a '
            'known object), "2 mm = 100,50 to 298,52" (two marks) (default: rig.toml)'
        ),
    ] = None,
    face: Annotated[
        str | None,
        typer.Option(help='row of the far face, "60.5", or at both rims, "60.5 to 63" (default: found)'),
    ] = None,
    glass_below: Annotated[bool, typer.Option(help="the picture shows the glass below the bath")] = False,
    energy: Energy = None,
    rate: Rate = None,
    pulses: Pulses = None,
    pitch: Pitch = None,
    passes: Passes = None,
    workers: Annotated[
        str | None,
        typer.Option(help='a dask scheduler whose workers read, "tcp://host:8786" (default: this machine)'),
    ] = None,
    as_json: Json = False,
    seed: Seed = 1,
) -> None:
    """Read high-speed films: flashes and bubbles with time, place and size. Give the setting they show.

    Example: farface footage films/steady.mp4 --energy "300 uJ" --pulses 8
    """
    from farface.app.film_scale import FilmTyped
    from farface.app.footage_many import take_films
    from farface.app.settings import Typed

    typed = Typed(energy=energy, rate=rate, pulses=pulses, pitch=pitch, passes=passes)
    camera = FilmTyped(
        frame_rate=frame_rate, exposure=exposure, pixel=pixel, face=face, glass_below=glass_below
    )
    run_on_bench(
        bench,
        seed,
        as_json,
        lambda work, tell: take_films(
            work, film, camera, typed, plate=plate, cell=cell, workers=workers, tell=tell
        ),
    )
