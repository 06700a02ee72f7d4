"""Lay out a coupon: a matrix of trial cells on a plate, with its bench sheet and the CSV to fill in."""

from dataclasses import dataclass
from typing import Final

from farface.app.answer import Answer, Json, plain
from farface.app.axis import knob_of
from farface.app.draws import current_draws
from farface.app.settings import Typed, setting_of
from farface.app.sheets import bench_sheet
from farface.app.workbench import Workbench
from farface.coupon.bench_sheet import bench_sheet_rows
from farface.coupon.design import factorial, order_trials
from farface.coupon.layout import CellRoom, Coupon, cells_that_fit, lay_out
from farface.etch.forecast import forecast
from farface.etch.outcome_odds import BROKEN, RUNAWAY
from farface.files.atomic import write_atomically
from farface.files.coupon_file import write_coupon_svg, write_coupon_template
from farface.kernel import Malformed, Missing
from farface.records import Rig, Setting
from farface.report.content import Picture, Table

# A plate that is run before anything is known should seldom have more cells at risk than this share.
ODDS_WORTH_A_WARNING: Final = 0.3
LEVELS: Final = 6
NAME_MOST: Final = 24
SPACINGS_M: Final = (4e-3, 3e-3, 2e-3, 1e-3)


@dataclass(frozen=True, slots=True, kw_only=True)
class CouponOrder:
    """Say what a coupon should hold: its name, the two settings to vary, how many levels and repeats."""

    name: str
    x: str = "energy"
    y: str = "pulses"
    levels: int = LEVELS
    repeats: int = 1


def order_coupon(work: Workbench, typed: Typed, order: CouponOrder) -> Coupon:
    """Combine every level of two settings, draw order and places, and lay them out on the rig's plate."""
    return coupon_of(work, _settings(work, typed, order), name=order.name, repeats=order.repeats)


def _settings(work: Workbench, typed: Typed, order: CouponOrder) -> tuple[Setting, ...]:
    base = setting_of(work.rig, typed)
    x, y = (knob_of(work.rig, base, text, points=order.levels) for text in (order.x, order.y))
    return factorial(base, dict((x, y)))


def coupon_of(work: Workbench, settings: tuple[Setting, ...], *, name: str, repeats: int = 1) -> Coupon:
    """Lay settings out on the rig's plate in a drawn order."""
    check_name(name)
    rng = work.rng()
    trials = order_trials(settings, replicates=repeats, rng=rng)
    return lay_out(
        trials, work.rig.plate, name=name, invented=work.invented, room=_room(work.rig, len(trials)), rng=rng
    )


def check_name(name: str) -> None:
    """Raise `Malformed` for a name that cannot stand in a file's name and be engraved."""
    if not name.replace("-", "").replace("_", "").isalnum() or len(name) > NAME_MOST:
        raise Malformed(
            f'"{name[:40]}" cannot name a coupon. Use letters, digits, "-" and "_", {NAME_MOST} at most.'
        )


def _room(rig: Rig, cells: int) -> CellRoom:
    """Keep cells as far apart as the plate allows, up to their own size: heat and cracks reach over."""
    for spacing_m in SPACINGS_M:
        room = CellRoom(spacing_m=spacing_m, field_m=rig.scanner.field_m)
        across, down = cells_that_fit(rig.plate, room)
        if across * down >= cells:
            return room
    return CellRoom(field_m=rig.scanner.field_m)


def lay_out_settings(
    work: Workbench, settings: tuple[Setting, ...], *, name: str, repeats: int = 1
) -> Answer:
    """Lay settings out and write the coupon's drawing, bench sheet and CSV; say what may happen to it."""
    coupon = coupon_of(work, settings, name=name, repeats=repeats)
    return _write(work, coupon, request={"settings": plain(settings), "name": name, "repeats": repeats})


def _write(work: Workbench, coupon: Coupon, *, request: dict[str, Json]) -> Answer:
    folder = work.places.coupons
    drawing, table, sheet = (folder / f"{coupon.plate}{end}" for end in (".svg", ".csv", "-sheet.html"))
    if table.exists():
        raise Missing(
            f"{table.name} exists already and may hold outcomes. Choose another name for the coupon, or "
            "move that file away."
        )
    etch = work.etch()
    draws = current_draws(work, etch)
    odds = forecast(etch, [cell.setting for cell in coupon.cells], draws.values).odds.mean(axis=0)
    risk = odds[:, RUNAWAY] + odds[:, BROKEN]
    write_coupon_svg(drawing, coupon)
    write_coupon_template(table, coupon)
    write_atomically(sheet, bench_sheet(work, coupon, calibrated=draws.calibrated).encode())
    rows = tuple(
        (str(row.order), row.cell, row.pulse_energy, row.rate, row.pulses_per_point, row.pitch, row.passes)
        for row in bench_sheet_rows(coupon)
    )
    header = ("turn", "cell", "energy", "rate", "pulses", "pitch", "passes")
    answer = Answer(
        title=f"Coupon {coupon.plate}: {len(coupon.cells)} cells ({draws.basis})",
        sentences=(
            f"Run the cells in the order of {sheet.name}, then fill in {table.name} and read it with "
            f"`farface outcomes`.",
            f"{int((risk > ODDS_WORTH_A_WARNING).sum())} of {len(risk)} cells have odds above "
            f"{100 * ODDS_WORTH_A_WARNING:.0f} % to run away or break.",
        ),
        tables=(Table(caption="Cells in the order of running", header=header, rows=rows),),
        pictures=(_picture(coupon, drawing.read_text()),),
        data={"coupon": plain(coupon), "risk": plain(risk)},
        files=(drawing, table, sheet),
    )
    work.publish("coupon", answer, inputs=draws.inputs, request=request)
    return answer


def _picture(coupon: Coupon, svg: str) -> Picture:
    return Picture(
        caption=f"Coupon {coupon.plate} as the laser sees it: {len(coupon.cells)} cells in drawn places.",
        svg=svg,
    )


def lay_out_coupon(work: Workbench, typed: Typed, order: CouponOrder) -> Answer:
    """Order a coupon and write it."""
    return lay_out_settings(work, _settings(work, typed, order), name=order.name, repeats=order.repeats)
