"""Say what is wanted of a part, hold its plan with all that was found out, and find the plan that was run."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from pydantic import TypeAdapter

from farface.app.part_close_up import Close
from farface.app.part_readings import Narrowed
from farface.app.part_simulation import DepthBand, through_odds
from farface.app.workbench import Workbench
from farface.journal import Record
from farface.kernel import Missing
from farface.part.order import Rows
from farface.part.passes import Etching, PartPlan
from farface.part.shapes import Drawing
from farface.records import Draft, Known, Setting, Wanted


@dataclass(frozen=True, slots=True, kw_only=True)
class PartOrder:
    """Say what is wanted: the drawing, a depth for shapes without one, the risk accepted, who clears it.

    ``depths`` names shapes whose depth is another than the drawing's. ``closely`` is under how many draws a
    corner is fired pulse by pulse, on the workers at an address if one is given. ``readings`` are depths read
    on the way, as `farface.app.part_readings` reads them: what is done is kept, and the rest planned anew.
    """

    drawing: Path
    depth: str | None = None
    depths: Mapping[str, str] = field(default_factory=dict)
    risk: float = 0.1
    confirmed_by: str | None = None
    closely: int = 0
    workers: str | None = None
    readings: tuple[str, ...] = ()
    interleave: bool = True
    tabs: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Planned:
    """Hold a plan with all that was found out about it."""

    name: str
    drawing: Drawing
    setting: Setting
    etching: Etching
    narrowed: Narrowed
    plan: PartPlan
    band: DepthBand
    draft: Draft
    close: Close | None
    rows: Rows | None
    tabs: int
    thickness_m: Known

    def piercing_odds(self, goal: Wanted) -> NDArray[np.float64]:
        """Return the odds that a shape is through the plate after 0, 1, 2, .. of its passes still to run."""
        return through_odds(
            self.narrowed.floor(goal, self.etching, self.plan), self.plan.count(goal.shape), self.thickness_m,
            runaway=self.narrowed.seen.runaway if goal.kind != "cut" else 0.0,
        )  # fmt: skip


def plan_that_was_run(work: Workbench, order: PartOrder) -> Record | None:
    """Find the latest plan of the same drawing in the journal; None where there is none."""
    for record in reversed(work.journal.standing("part")):
        if record.body.get("request", {}).get("drawing") == order.drawing.name:
            return record
    return None


def setting_that_was_run(work: Workbench, order: PartOrder) -> Setting:
    """Take the setting of the plan that was run; readings say nothing of another one."""
    before = plan_that_was_run(work, order)
    if before is None:
        raise Missing(
            f"{order.drawing.name} was read, but no plan of it stands in the journal. Plan it first, or give"
            " the setting that was run with --energy, --rate, --pulses and --pitch."
        )
    return TypeAdapter(Setting).validate_python(before.body["data"]["setting"])
