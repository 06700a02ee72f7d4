"""Hold one measurement of speed, and compare it with its goal."""

from dataclasses import dataclass
from typing import Literal

Goal = Literal["at least", "at most"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """Hold what one run measured: ours, how that compares with a peer in the same run, and the goal.

    ``ratio`` compares with the peer's value, or is the value itself where there is no peer.
    """

    name: str
    value: float
    unit: str
    peer: str
    ratio: float
    goal: str
    met: bool


def row(*, name: str, value: float, unit: str, peer: str = "", ratio: float, goal: tuple[Goal, float]) -> Row:
    """Judge a measured ratio by its goal, such as ``("at least", 12.0)``."""
    sense, bound = goal
    met = ratio >= bound if sense == "at least" else ratio <= bound
    return Row(name=name, value=value, unit=unit, peer=peer, ratio=ratio, goal=f"{sense} {bound:g}", met=met)
