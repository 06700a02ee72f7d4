"""Write a coupon's drawing and the table in which its outcomes are noted."""

from dataclasses import dataclass
from pathlib import Path

from farface.coupon.drawing import coupon_svg
from farface.coupon.layout import Coupon
from farface.files.atomic import write_atomically
from farface.files.outcomes_file import write_outcomes_template
from farface.records import Setting


@dataclass(frozen=True, slots=True, kw_only=True)
class _Row:
    """Name a cell as the table of outcomes names it."""

    plate: str
    cell: str
    order: int
    setting: Setting


def write_coupon_svg(path: Path, coupon: Coupon) -> None:
    """Write the drawing to scale, in millimetres."""
    write_atomically(path, coupon_svg(coupon).encode("utf-8"))


def write_coupon_template(path: Path, coupon: Coupon, *, sheet_m: float | None = None) -> None:
    """Write outcomes.csv with a row for each cell in run order, its findings blank.

    ``sheet_m`` fills in the thickness of a thin sheet that is watched for the pass that pierces it.
    """
    rows = [
        _Row(plate=coupon.plate, cell=cell.label, order=cell.order, setting=cell.setting)
        for cell in coupon.in_run_order()
    ]
    write_outcomes_template(path, rows, sheet_m=sheet_m)
