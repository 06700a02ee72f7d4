"""Write a film's events as tables, CSV for people and Parquet for programs, in SI."""

import io
from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING

from farface.files.atomic import write_atomically
from farface.footage.events import FilmEvents
from farface.learn.bubble_energy import BubbleEnergy

if TYPE_CHECKING:
    import polars


def write_event_tables(
    folder: Path, name: str, events: FilmEvents, energies: Sequence[BubbleEnergy]
) -> tuple[Path, ...]:
    """Write ``name``-bubbles, -radii, -flashes, -columns and -rebounds, each as .csv and .parquet.

    One row an event; -radii has a row for each frame that shows a bubble, joined by its number. Every column
    ends in its unit. Kinds of which the film shows none are left out.
    """
    written = []
    for kind, table in _tables(events, energies).items():
        if table.is_empty():
            continue
        csv, parquet = (folder / f"{name}-{kind}.{ending}" for ending in ("csv", "parquet"))
        write_atomically(csv, table.write_csv().encode())
        target = io.BytesIO()
        table.write_parquet(target)
        write_atomically(parquet, target.getvalue())
        written += [csv, parquet]
    return tuple(written)


def _tables(events: FilmEvents, energies: Sequence[BubbleEnergy]) -> dict[str, "polars.DataFrame"]:
    import polars

    reading = events.reading
    frames = {"times_s", "radii_m", "lengths_m"}
    bubbles = [
        {"bubble": number, **_without(asdict(bubble), frames), **asdict(energy)}
        for number, (bubble, energy) in enumerate(zip(reading.bubbles, energies, strict=True))
    ]
    radii = [
        {"bubble": number, "time_s": time_s, "radius_m": radius_m}
        for number, bubble in enumerate(reading.bubbles)
        for time_s, radius_m in zip(bubble.times_s, bubble.radii_m, strict=True)
    ]
    return {
        "bubbles": polars.DataFrame(bubbles),
        "radii": polars.DataFrame(radii),
        "flashes": polars.DataFrame([asdict(flash) for flash in reading.flashes]),
        "columns": polars.DataFrame([_without(asdict(column), frames) for column in events.columns]),
        "rebounds": polars.DataFrame([asdict(rebound) for rebound in events.rebounds]),
    }


def _without(row: dict[str, object], names: set[str]) -> dict[str, object]:
    return {name: value for name, value in row.items() if name not in names}
