"""Walk a program as a control would, and say where it fires.

Shares nothing with the writer, so that each holds the other to the dialect of `farface.files.program`.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from farface.kernel import Malformed

_COMMENT = re.compile(r"\([^()]*\)")
_CODES = {"G0", "G1", "G4", "G21", "G90", "M2", "M3", "M5", "M30"}
_WORD = re.compile(r"([A-Z])([+-]?(?:\d+\.?\d*|\.\d+))")


@dataclass(frozen=True, slots=True, kw_only=True)
class Fired:
    """Hold where a program fires, shape (shots, 2), and how long each shot lasts, shape (shots,)."""

    points_m: NDArray[np.float64]
    dwell_s: NDArray[np.float64]


def read_program(text: str) -> Fired:
    """Follow a program block by block; raises `Malformed` for a move with the laser on, or a strange word."""
    seen: set[str] = set()
    place: dict[str, float] = {}
    lit = False
    shots: list[tuple[float, float, float]] = []
    for number, words in _blocks(text):
        codes = {f"{letter}{value:g}" for letter, value in words if letter in "GM"}
        moves = {letter: value for letter, value in words if letter in "XY"}
        seen |= codes
        if moves and (lit or "M3" in codes or not {"G21", "G90"} <= seen):
            raise _wrong(number, "moves with the laser on, or before its units are set")
        place |= moves
        lit = "M5" not in codes and (lit or "M3" in codes)
        if "G4" in codes and lit:
            if not {"X", "Y"} <= place.keys():
                raise _wrong(number, "fires before the beam was moved anywhere")
            shots.append((place["X"], place["Y"], dict(words).get("P", 0.0)))
    fired = np.array(shots, dtype=np.float64).reshape(-1, 3)
    return Fired(points_m=fired[:, :2] * 1e-3, dwell_s=fired[:, 2])


def _blocks(text: str) -> Iterator[tuple[int, list[tuple[str, float]]]]:
    """Yield the number and the words of every line that has some, up to the end of the program."""
    for number, line in enumerate(text.splitlines(), start=1):
        block = _COMMENT.sub("", line)
        words = [(letter, float(value)) for letter, value in _WORD.findall(block)]
        codes = {f"{letter}{value:g}" for letter, value in words if letter in "GM"}
        if _WORD.sub("", block).strip(" %") or not codes <= _CODES:
            raise _wrong(number, f'is "{block[:40]}", which is not in the dialect')
        if words:
            yield number, words
        if codes & {"M2", "M30"}:
            return


def _wrong(number: int, what: str) -> Malformed:
    return Malformed(f"line {number} of the program {what}. Mend the program, or write it again.")
