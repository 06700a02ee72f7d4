"""Lay out a coupon: a matrix of trial cells on a plate, with its bench sheet and the CSV to fill in."""

from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray

from farface.app.answer import Answer, plain
from farface.app.clearance import clearance_words, confirmation
from farface.app.coupon_order import CouponOrder, PlateOrder, check_name, plate_names, room_of, settings_of
from farface.app.draws import Draws, current_draws
from farface.app.machine_files import write_machine_files
from farface.app.settings import Typed, setting_of
from farface.app.sheets import bench_sheet
from farface.app.workbench import Workbench
from farface.coupon.bench_sheet import bench_sheet_rows
from farface.coupon.design import deal, order_trials
from farface.coupon.layout import Coupon, lay_out
from farface.coupon.passes import coupon_passes
from farface.etch.bench import EtchBench
from farface.etch.forecast import forecast
from farface.etch.outcome_odds import BROKEN, RUNAWAY, STEADY
from farface.files.atomic import write_atomically
from farface.files.coupon_dxf import coupon_dxf
from farface.files.coupon_file import write_coupon_svg, write_coupon_template
from farface.kernel import Missing
from farface.learn.depth import LEAST_DEPTH_M, depth_width
from farface.materials import glass
from farface.part.duration import passes_duration_s
from farface.records import Confirmation, Draft, Setting
from farface.report.content import Picture, Table
from farface.safety.gate import clear

# A plate that is run before anything is known should seldom have more cells at risk than this share.
ODDS_WORTH_A_WARNING: Final = 0.3
# Sheets thinner than this are watched for the pass that pierces them. Common practice, no source.
WATCHED_THICKNESS_M: Final = 0.3e-3


@dataclass(frozen=True, slots=True, kw_only=True)
class Clearing:
    """Hold who clears a coupon for the machine, and the risk accepted in every cell."""

    person: str
    risk: float


@dataclass(frozen=True, slots=True, kw_only=True)
class CellRisks:
    """Hold the odds that a cell is lost (runs away or breaks) or goes through, each of shape (setting,)."""

    loss_risk: NDArray[np.float64]
    pierce_risk: NDArray[np.float64]


def lay_out_coupon(work: Workbench, typed: Typed, order: CouponOrder) -> Answer:
    """Order a coupon of one plate or several, and write it; with a confirmation, also for a machine."""
    clearing = None if order.confirmed_by is None else Clearing(person=order.confirmed_by, risk=order.risk)
    engraving = setting_of(work.rig, typed)
    answers = [
        lay_out_settings(work, settings, plate, engraving=engraving, clearing=clearing)
        for settings, plate in _plates(work, typed, order)
    ]
    if len(answers) == 1:
        return answers[0]
    return Answer(
        title=f"{len(answers)} plates: {', '.join(answer.title for answer in answers)}",
        sentences=tuple(sentence for answer in answers for sentence in answer.sentences),
        tables=tuple(table for answer in answers for table in answer.tables),
        pictures=tuple(picture for answer in answers for picture in answer.pictures),
        data={"coupons": [answer.data for answer in answers]},
        files=tuple(path for answer in answers for path in answer.files),
    )


def order_coupons(work: Workbench, typed: Typed, order: CouponOrder) -> tuple[Coupon, ...]:
    """Choose settings by the design, share them out over the plates, draw order and places."""
    return tuple(_coupon(work, settings, plate) for settings, plate in _plates(work, typed, order))


def order_coupon(work: Workbench, typed: Typed, order: CouponOrder) -> Coupon:
    """Order the only plate, or the first of several."""
    return order_coupons(work, typed, order)[0]


def _plates(
    work: Workbench, typed: Typed, order: CouponOrder
) -> tuple[tuple[tuple[Setting, ...], PlateOrder], ...]:
    settings = settings_of(work, typed, order)
    dealt = deal(settings, plates=order.plates, replicates=order.repeats, rng=work.rng())
    return tuple(
        (
            own,
            PlateOrder(name=name, repeats=repeats, blocks=order.blocks, number=number, room=order.room),
        )
        for number, (name, (own, repeats)) in enumerate(
            zip(plate_names(order.name, order.plates), dealt, strict=True)
        )
    )


def _coupon(work: Workbench, settings: tuple[Setting, ...], plate: PlateOrder) -> Coupon:
    """Lay settings out on the rig's plate in an order that is the plate's own."""
    check_name(plate.name)
    rng = np.random.default_rng((work.seed, plate.number))
    trials = order_trials(settings, replicates=plate.repeats, blocks=plate.blocks, rng=rng)
    return lay_out(
        trials,
        work.rig.plate,
        name=plate.name,
        invented=work.invented,
        room=room_of(work.rig, plate.room, len(trials)),
        rng=rng,
    )


def lay_out_settings(
    work: Workbench,
    settings: tuple[Setting, ...],
    plate: PlateOrder,
    *,
    engraving: Setting | None = None,
    clearing: Clearing | None = None,
) -> Answer:
    """Write one plate's drawings, bench sheet and CSV, and say what may happen to it.

    ``engraving`` is the setting of the labels, by itself the cells' weakest. With ``clearing`` the plate must
    pass the gate, whose risks are those of its worst cell, and is written for a machine too.
    """
    coupon = _coupon(work, settings, plate)
    table = work.places.coupons / f"{coupon.plate}.csv"
    if table.exists():
        raise Missing(
            f"{table.name} exists already and may hold outcomes. Choose another name for the coupon, or "
            "move that file away."
        )
    etch = work.etch()
    draws = current_draws(work, etch)
    risks = cell_risks(etch, tuple(cell.setting for cell in coupon.cells), draws)
    engraving = engraving or min(settings, key=lambda setting: setting.pulse_energy_j)
    draft = _draft(work, coupon, engraving, cell_risks(etch, (engraving,), draws), risks)
    cleared = None
    if clearing is not None:
        cleared = clear(
            draft, work.rig, confirmation(work, clearing.person),
            accepted_break_risk=clearing.risk, accepted_pierce_risk=clearing.risk,
        )  # fmt: skip
    files = _write_files(work, coupon, calibrated=draws.calibrated)
    if cleared is not None:
        files += write_machine_files(work.places.runs / coupon.plate, cleared)
    answer = _answer(coupon, draws, risks, draft, None if cleared is None else cleared.confirmation, files)
    request = {"settings": plain(settings), "plate": plain(plate), "engraving": plain(engraving)}
    work.publish("coupon", answer, inputs=draws.inputs, request=request)
    return answer


def cell_risks(etch: EtchBench, settings: tuple[Setting, ...], draws: Draws) -> CellRisks:
    """Average over the draws how a cell may end badly; a floor deeper than the plate has gone through."""
    from scipy.special import ndtr

    ahead = forecast(etch, settings, draws.values)
    passes = np.array([setting.passes for setting in settings])
    deep = np.log(np.maximum(ahead.quantity("depth_per_pass_m") * passes, LEAST_DEPTH_M) / etch.thickness_m)
    through = ahead.odds[:, :, STEADY] * ndtr(deep / depth_width(draws.values)[:, None])
    odds = ahead.odds.mean(axis=0)
    return CellRisks(loss_risk=odds[:, RUNAWAY] + odds[:, BROKEN], pierce_risk=through.mean(axis=0))


def _draft(work: Workbench, coupon: Coupon, engraving: Setting, labels: CellRisks, cells: CellRisks) -> Draft:
    """Draft the firing of a coupon; its risks are those of the worst cell, the labels counted as one.

    A cell that runs away counts as one that breaks the plate, which it may.
    """
    index = glass(work.rig.plate.glass).index(work.rig.laser.wavelength_m)
    passes = coupon_passes(coupon, engraving=engraving, index=index)
    return Draft(
        name=f"coupon {coupon.plate}",
        rig=work.rig.name,
        invented=coupon.invented,
        wanted=(),
        passes=passes,
        duration_s=passes_duration_s(passes, work.rig.scanner),
        break_risk=float(max(cells.loss_risk.max(), labels.loss_risk.max())),
        pierce_risk=float(max(cells.pierce_risk.max(), labels.pierce_risk.max())),
    )


def _write_files(work: Workbench, coupon: Coupon, *, calibrated: bool) -> tuple[Path, ...]:
    folder = work.places.coupons
    svg, dxf, table, sheet = (
        folder / f"{coupon.plate}{end}" for end in (".svg", ".dxf", ".csv", "-sheet.html")
    )
    thickness_m = work.rig.plate.thickness_m.value
    write_coupon_svg(svg, coupon)
    write_atomically(dxf, coupon_dxf(coupon))
    write_coupon_template(table, coupon, sheet_m=thickness_m if thickness_m < WATCHED_THICKNESS_M else None)
    write_atomically(sheet, bench_sheet(work, coupon, calibrated=calibrated).encode())
    return svg, dxf, table, sheet


def _answer(
    coupon: Coupon,
    draws: Draws,
    risks: CellRisks,
    draft: Draft,
    cleared: Confirmation | None,
    files: tuple[Path, ...],
) -> Answer:
    risk = risks.loss_risk
    rows = tuple(
        (str(row.order), str(row.block), row.cell, row.pulse_energy, row.rate, row.pulses_per_point,
         row.pitch, row.passes, row.focus)
        for row in bench_sheet_rows(coupon)
    )  # fmt: skip
    header = ("turn", "block", "cell", "energy", "rate", "pulses", "pitch", "passes", "focus")
    svg, _, table, sheet = files[:4]
    return Answer(
        title=f"Coupon {coupon.plate}: {len(coupon.cells)} cells ({draws.basis})",
        sentences=(
            f"Run the cells in the order of {sheet.name}, then fill in {table.name} and read it with "
            f"`farface outcomes`.",
            f"{int((risk > ODDS_WORTH_A_WARNING).sum())} of {len(risk)} cells have odds above "
            f"{100 * ODDS_WORTH_A_WARNING:.0f} % to run away or break.",
            f"{len(draft.passes)} passes with the labels, about {draft.duration_s / 60.0:.0f} min of firing.",
            clearance_words(cleared),
        ),
        tables=(Table(caption="Cells in the order of running", header=header, rows=rows),),
        pictures=(_picture(coupon, svg.read_text()),),
        data={
            "coupon": plain(coupon),
            "risk": plain(risk),
            "break_risk": draft.break_risk,
            "pierce_risk": draft.pierce_risk,
            "cleared": plain(cleared),
        },
        files=files,
    )


def _picture(coupon: Coupon, svg: str) -> Picture:
    return Picture(
        caption=f"Coupon {coupon.plate} as the laser sees it: {len(coupon.cells)} cells in drawn places.",
        svg=svg,
    )
