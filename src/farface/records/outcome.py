"""An outcome: what the person saw in one cell of a coupon."""

from dataclasses import dataclass
from typing import Final, Literal

from farface.records.setting import Setting

Seen = Literal["nothing", "frosted", "steady", "burst_below", "runaway", "broken"]
SEEN: Final[tuple[Seen, ...]] = ("nothing", "frosted", "steady", "burst_below", "runaway", "broken")

DepthMethod = Literal["focus_travel", "section", "stylus", "weight_loss", "feel_at_least"]


@dataclass(frozen=True, slots=True, kw_only=True)
class DepthReading:
    """Hold one depth with its standard deviation; ``feel_at_least`` is a lower bound only."""

    depth_m: float
    sd_m: float
    method: DepthMethod


@dataclass(frozen=True, slots=True, kw_only=True)
class Pierced:
    """Say between which passes a sheet of known thickness was pierced: whole after one, through by another.

    ``through_by`` is None when it was never pierced. The depth per pass lies in
    [thickness / through_by, thickness / whole_after).
    """

    thickness_m: float
    whole_after: int
    through_by: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """Hold what was seen in one cell, with at most one depth, one piercing, and the name of one photo."""

    plate: str
    cell: str
    order: int
    setting: Setting
    seen: Seen
    depth: DepthReading | None = None
    pierced: Pierced | None = None
    note: str = ""
    photo: str = ""
