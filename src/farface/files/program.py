"""Write a cleared plan as programs in a small dialect of ISO 6983.

One program a layout of points; the passes that fire it, and the lens height of each, stand in its head as
comments, and in full in ``passes.csv``. A program holds comments in parentheses and, for every point, four
blocks: move with the laser off, laser on, wait while the pulses fall, laser off. The beam never moves while
the laser is on. The words for units, laser and end differ between controls; they are those of `Words`.
[iso6983]
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass

from farface.files.points import columns_mm
from farface.kernel import show_quantity
from farface.part.layouts import Layout, distinct_layouts
from farface.safety.gate import Cleared


@dataclass(frozen=True, slots=True, kw_only=True)
class Words:
    """Hold the words that differ between controls; the dwell ``{s}`` is in seconds.

    The standard leaves M3 and M5 to the spindle, which most controls lend to a laser's gate (common
    practice, no source).
    """

    millimetres: str = "G21"
    absolute: str = "G90"
    move: str = "G0"
    dwell: str = "G4 P{s}"
    laser_on: str = "M3"
    laser_off: str = "M5"
    end: str = "M2"


@dataclass(frozen=True, slots=True, kw_only=True)
class Program:
    """Hold the program of one layout; ``text`` yields its lines piece by piece."""

    layout: int
    text: Iterator[bytes]


def programs(cleared: Cleared, words: Words | None = None) -> Iterator[Program]:
    """Yield the programs of a plan that passed the gate; anything else is refused."""
    if not isinstance(cleared, Cleared):
        raise TypeError("only a plan that farface.safety.gate.clear returned can be written for a machine")
    for layout in distinct_layouts(cleared.draft.passes):
        yield Program(layout=layout.number, text=_lines(layout, cleared, words or Words()))


def _lines(layout: Layout, cleared: Cleared, words: Words) -> Iterator[bytes]:
    head = [f"({_comment(line)})" for line in _head(layout, cleared)]
    start = [words.laser_off, words.millimetres, words.absolute]
    yield "\n".join(("%", *head, *start, "")).encode("ascii")
    dwell_s = layout.setting.pulses_per_point / layout.setting.rate_hz
    dwell = words.dwell.format(s=f"{dwell_s:.9f}")
    point = f"{words.move} X%.4f Y%.4f\n{words.laser_on}\n{dwell}\n{words.laser_off}\n".__mod__
    for x_mm, y_mm in columns_mm(layout.points_m):
        yield "".join(map(point, zip(x_mm, y_mm, strict=True))).encode("ascii")
    yield f"{words.end}\n%\n".encode("ascii")


def _head(layout: Layout, cleared: Cleared) -> Iterator[str]:
    setting, draft = layout.setting, cleared.draft
    yield f"farface: {draft.name}, layout {layout.number}"
    if draft.invented:
        yield "invented data"
    yield f"shape {layout.passes[0].shape}, {layout.passes[0].kind}, {len(layout.points_m)} points"
    yield "units: mm and s; X right, Y up, origin in the middle of the plate, seen from the laser"
    yield (
        f"set the laser by hand: {show_quantity(setting.pulse_energy_j, 'J')} a pulse at"
        f" {show_quantity(setting.rate_hz, 'Hz')}, {setting.pulses_per_point} pulses a point"
    )
    yield f"cleared for rig {cleared.rig.name}, confirmed by {cleared.confirmation.person}"
    for one in layout.passes:
        yield f"run as pass {one.number} with the lens {one.focus_drop_m * 1e3:.4f} mm above its first height"


def _comment(text: str) -> str:
    """Keep a comment inside its parentheses and its line, in plain ASCII."""
    return re.sub(r"[()%\r\n]|[^\x20-\x7e]", "_", text)
