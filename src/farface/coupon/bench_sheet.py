"""List a coupon's cells as the bench sheet prints them, in the order in which they are fired."""

from dataclasses import dataclass

from farface.coupon.layout import Coupon, TrialCell
from farface.kernel import show_quantity


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchRow:
    """Hold one line of a bench sheet, as a person reads it, and whether a new block begins with it."""

    order: int
    cell: str
    block: int
    starts_block: bool
    pulse_energy: str
    rate: str
    pulses_per_point: str
    pitch: str
    passes: str
    focus: str


def bench_sheet_rows(coupon: Coupon) -> tuple[BenchRow, ...]:
    """Write a coupon's cells in run order."""
    cells = coupon.in_run_order()
    earlier_blocks = (None, *(cell.block for cell in cells[:-1]))
    return tuple(
        _row(cell, starts_block=cell.block != earlier)
        for cell, earlier in zip(cells, earlier_blocks, strict=True)
    )


def _row(cell: TrialCell, *, starts_block: bool) -> BenchRow:
    setting = cell.setting
    return BenchRow(
        order=cell.order,
        cell=cell.label,
        block=cell.block,
        starts_block=starts_block,
        pulse_energy=show_quantity(setting.pulse_energy_j, "J"),
        rate=show_quantity(setting.rate_hz, "Hz"),
        pulses_per_point=str(setting.pulses_per_point),
        pitch=show_quantity(setting.pitch_m, "m"),
        passes=str(setting.passes),
        focus=_focus(setting.focus_offset_m),
    )


def _focus(offset_m: float) -> str:
    """Say where the focus lies, in words that cannot be taken for the opposite."""
    if offset_m == 0.0:
        return "on the far face"
    side = "into the bath" if offset_m > 0.0 else "into the glass"
    return f"{show_quantity(abs(offset_m), 'm')} {side}"
