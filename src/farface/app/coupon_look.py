"""Look at coupons: a preview of one that could be laid out, and those that were."""

from typing import Final

from pydantic import TypeAdapter

from farface.app.answer import Answer, Json, plain, show_odds
from farface.app.axis import usual_span
from farface.app.coupon import ODDS_WORTH_A_WARNING, order_coupon
from farface.app.coupon_order import CouponOrder, check_name
from farface.app.draws import Draws, current_draws
from farface.app.plate_pictures import cell_odds, plate_picture
from farface.app.settings import Typed, setting_of, show_setting
from farface.app.workbench import Workbench
from farface.coupon.bench_sheet import bench_sheet_rows
from farface.coupon.layout import Coupon
from farface.etch.outcome_odds import BROKEN, RUNAWAY
from farface.journal import Journal, Record
from farface.kernel import FarfaceError, Malformed, Missing
from farface.records.knobs import KNOBS
from farface.report.content import Table

_COUPON: Final = TypeAdapter(Coupon)
_HEADER: Final = ("turn", "cell", "energy", "rate", "pulses", "pitch", "passes", "runs away or breaks")
# What a coupon leaves behind: its path's end, and what each is for.
FILES: Final = {"sheet": "-sheet.html", "drawing": ".svg", "table": ".csv"}


def look_at_coupon(work: Workbench, typed: Typed, order: CouponOrder) -> Answer:
    """Show the coupon that an order would give and what may happen to it; nothing is written.

    What cannot be laid out says why in ``data["refused"]``, so that a form can stay as it was typed.
    """
    told = {"order": plain(order), "knobs": _knobs(work, typed), "laid": coupon_names(work.journal),
            "refused": ""}  # fmt: skip
    try:
        coupon = order_coupon(work, typed, order)
    except FarfaceError as error:
        return Answer(title="Coupon", data=told | {"refused": str(error), "coupon": None})
    answer = _shown(work, coupon, title=f"{len(coupon.cells)} cells as they would lie on the plate")
    return Answer(
        title="Coupon", sentences=answer.sentences, tables=answer.tables, pictures=answer.pictures,
        data=told | dict(answer.data),
    )  # fmt: skip


def look_at_laid_coupon(work: Workbench, name: str) -> Answer:
    """Show a coupon that was laid out, with what the present draws expect of it."""
    record = coupon_record(work.journal, name)
    coupon = coupon_told(record)
    answer = _shown(work, coupon, title=f"Coupon {coupon.plate}")
    return Answer(
        title=f"Coupon {coupon.plate}",
        sentences=(*answer.sentences, f"Laid out as record {record.number} of the journal."),
        tables=answer.tables, pictures=answer.pictures, data={**answer.data, "record": record.number},
    )  # fmt: skip


def coupon_file(work: Workbench, name: str, what: str) -> bytes:
    """Read what was written for a coupon: its "sheet", its "drawing", or its "table"; `Missing` if gone."""
    coupon = coupon_told(coupon_record(work.journal, name))
    check_name(coupon.plate)
    path = work.places.coupons / f"{coupon.plate}{FILES[what]}"
    if not path.is_file():
        raise Missing(f"{path.name} is no longer in the bench's coupons. Lay the coupon out anew.")
    return path.read_bytes()


def coupon_names(journal: Journal) -> list[str]:
    """Name the coupons that were laid out, the newest first."""
    names = [coupon_told(record).plate for record in journal.standing("coupon")]
    return list(dict.fromkeys(reversed(names)))


def coupon_record(journal: Journal, name: str) -> Record:
    """Find the record that laid a coupon out; `Missing` when there is none of that name."""
    for record in reversed(journal.standing("coupon")):
        if record.body["data"]["coupon"]["plate"] == name:
            return record
    raise Missing(f'No coupon "{name[:40]}" was laid out on this bench. Choose one that was, or lay it out.')


def coupon_told(record: Record) -> Coupon:
    """Read the coupon that a record laid out."""
    try:
        return _COUPON.validate_python(record.body["data"]["coupon"])
    except (KeyError, ValueError) as error:
        raise Malformed(f"Record {record.number} of the journal does not hold a readable coupon.") from error


def _knobs(work: Workbench, typed: Typed) -> list[dict[str, Json]]:
    """List what a coupon can vary, with the usual span of each, as a person would type it."""
    try:
        base = setting_of(work.rig, typed)
    except FarfaceError:
        base = setting_of(work.rig, Typed())
    return [
        {"name": knob.name, "words": knob.words, "low": low, "high": high}
        for knob in KNOBS.values()
        for low, high in (usual_span(work.rig, base, knob.name),)
    ]


def _shown(work: Workbench, coupon: Coupon, *, title: str) -> Answer:
    etch = work.etch()
    draws: Draws = current_draws(work, etch)
    odds = cell_odds(etch, coupon, draws.values)
    risk = dict(
        zip((c.label for c in coupon.cells), (odds[:, RUNAWAY] + odds[:, BROKEN]).tolist(), strict=True)
    )
    at_risk = sum(share > ODDS_WORTH_A_WARNING for share in risk.values())
    rows = tuple(
        (str(row.order), row.cell, row.pulse_energy, row.rate, row.pulses_per_point, row.pitch, row.passes,
         show_odds(risk[row.cell]))
        for row in bench_sheet_rows(coupon)
    )  # fmt: skip
    return Answer(
        title=title,
        sentences=(
            f"{at_risk} of {len(risk)} cells have odds above {100 * ODDS_WORTH_A_WARNING:.0f} % to run away "
            f"or break.",
        ),
        tables=(Table(caption="Cells in the order of running", header=_HEADER, rows=rows),),
        pictures=(plate_picture(coupon, odds, draws, title=title),),
        data={
            "coupon": plain(coupon), "risk": plain(risk), "calibrated": draws.calibrated,
            "invented": coupon.invented, "setting": show_setting(coupon.cells[0].setting),
        },
    )  # fmt: skip
