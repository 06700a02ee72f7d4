"""What every use case gives back: words for a person, data for a program, and the files it wrote."""

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, field, is_dataclass
from pathlib import Path
from typing import Any

import numpy as np

from farface.kernel import show_quantity
from farface.records import Known
from farface.report.content import Picture, Table

# Plain JSON: what `json.dumps` takes.
Json = Any


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """Hold the answer of one use case; commands and pages only lay it out.

    ``data`` is plain JSON in SI, every number under a name that ends in its unit. ``pictures`` go into the
    report; ``files`` were written for the person.
    """

    title: str
    sentences: tuple[str, ...] = ()
    tables: tuple[Table, ...] = ()
    pictures: tuple[Picture, ...] = ()
    data: Mapping[str, Json] = field(default_factory=dict)
    files: tuple[Path, ...] = ()


def plain(value: Any) -> Json:
    """Turn records, arrays and paths into plain JSON; a number that is not finite becomes None."""
    if is_dataclass(value) and not isinstance(value, type):
        return plain(asdict(value))
    if isinstance(value, Mapping):
        return {str(key): plain(item) for key, item in value.items()}
    if isinstance(value, np.ndarray | np.generic):
        return plain(value.tolist())
    if isinstance(value, str | bool | int) or value is None:
        return value
    if isinstance(value, float):
        return value if np.isfinite(value) else None
    if isinstance(value, Sequence | set | frozenset):
        return [plain(item) for item in value]
    return str(value)


def show_known(known: Known, dimension: str) -> str:
    """Write a value with its uncertainty and how it is known, such as ``"20.0 um +/- 2.00 um, measured"``."""
    shown = show_quantity(known.value, dimension)
    if known.sd > 0.0:
        shown += f" +/- {show_quantity(known.sd, dimension, digits=2)}"
    return f"{shown}, {known.how}"


def show_band(median: float, low: float, high: float, dimension: str) -> str:
    """Write a median with the band that holds nine draws in ten."""
    return (
        f"{show_quantity(median, dimension)} "
        f"({show_quantity(low, dimension, digits=2)} .. {show_quantity(high, dimension, digits=2)})"
    )


def show_odds(share: float) -> str:
    """Write odds as a whole percentage, without claiming none or all."""
    if share < 0.005:
        return "<1\u00a0%"
    if share > 0.995:
        return ">99\u00a0%"
    return f"{100.0 * share:.0f}\u00a0%"
