"""Say what a film shows: a plate, the setting that ran, and the cell of a coupon where it shows one."""

from dataclasses import dataclass
from typing import Any

from pydantic import TypeAdapter

from farface.app.settings import Typed, setting_of, show_setting
from farface.app.workbench import Workbench
from farface.journal import Input
from farface.kernel import Malformed, Missing
from farface.records import Setting

_SETTING = TypeAdapter(Setting)


@dataclass(frozen=True, slots=True, kw_only=True)
class Filmed:
    """Hold what a film shows, and the setting as typed; ``coupon`` is the record of the cell's coupon."""

    plate: str
    cell: str | None
    setting: Setting
    typed: Typed
    coupon: Input | None = None

    @property
    def shown(self) -> str:
        """Write it in one line, as a person reads it."""
        at = show_setting(self.setting)
        return at if self.cell is None else f"cell {self.cell} of {self.plate}, {at}"


def filmed(work: Workbench, typed: Typed, *, plate: str, cell: str | None) -> Filmed:
    """Join what was typed; a cell's setting is the one on its coupon, in the journal.

    Raises `Missing` for a cell that no coupon of that plate has, `Malformed` for a setting beside a cell.
    """
    if cell is None:
        return Filmed(plate=plate, cell=None, setting=setting_of(work.rig, typed), typed=typed)
    if typed != Typed():
        raise Malformed(
            f"a setting was typed beside cell {cell}, but its coupon says what ran. Give one of the two."
        )
    record, cells = _coupon(work, plate)
    found = cells.get(cell)
    if found is None:
        raise Missing(f"coupon {plate} has no cell {cell}, but {', '.join(cells)}. Give one of them.")
    return Filmed(
        plate=plate, cell=cell, setting=_SETTING.validate_python(found["setting"]),
        typed=typed, coupon=Input(role="coupon", record=record),
    )  # fmt: skip


def _coupon(work: Workbench, plate: str) -> tuple[str, dict[str, Any]]:
    """Find the last coupon of that name: its record, and its cells by label."""
    for record in reversed(tuple(work.journal.standing("coupon"))):
        coupon = record.body["data"]["coupon"]
        if coupon["plate"] == plate:
            return record.id, {one["label"]: one for one in coupon["cells"]}
    raise Missing(
        f"the journal has no coupon {plate}, so the setting of its cells is not known. Give --plate the "
        "coupon's name, or the setting in place of the cell."
    )
