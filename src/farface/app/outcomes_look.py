"""Look at a plate's outcomes as they are being typed, and record them when the person says so."""

import re
from typing import Final

from farface.app.answer import Answer, Json, plain
from farface.app.coupon_look import coupon_names, coupon_record, coupon_told
from farface.app.journal_open import OpenJournal
from farface.app.outcomes import take_outcomes
from farface.app.settings import show_setting
from farface.app.typed_book import TypedBook
from farface.app.typed_outcomes import recorded_outcomes, shown_findings, table_path
from farface.app.workbench import Correction, Workbench
from farface.coupon.layout import Coupon, TrialCell
from farface.files.outcomes_columns import DEPTH_SD_M
from farface.files.outcomes_file import read_outcomes
from farface.files.outcomes_sheet import OutcomesSheet, read_sheet
from farface.journal import Journal, Record
from farface.kernel import FarfaceError, Malformed, Missing, show_quantity
from farface.records import SEEN, Outcome

_LABEL: Final = re.compile(r"([A-Z]+)(\d+)")


def look_at_outcomes(opened: OpenJournal, plate: str = "", cell: str = "") -> Answer:
    """Show the table of a plate, by default the last one laid out, and what of it is not recorded yet."""
    plates = coupon_names(opened.journal)
    if not plates:
        data: dict[str, Json] = {"plates": [], "plate": "", "cells": []}
        return Answer(title="Outcomes", sentences=("No coupon was laid out yet.",), data=data)
    record = coupon_record(opened.journal, plate or plates[0])
    coupon = coupon_told(record)
    sheet = read_sheet(table_path(opened.places.folder, coupon.plate))
    recorded = {outcome.cell: outcome for outcome in recorded_outcomes(opened.journal, coupon.plate)}
    cells = [_cell(one, coupon, sheet, recorded) for one in coupon.in_run_order() if one.label in sheet.rows]
    chosen = cell if cell in {one["cell"] for one in cells} else _first_open(cells)
    return Answer(
        title=f"Outcomes of {coupon.plate}",
        sentences=(_how_far(cells),),
        data={
            "plates": plates, "plate": coupon.plate, "invented": coupon.invented, "chosen": chosen,
            "cells": cells, "seen": list(SEEN), "methods": _methods(),
            "typed": sum(one["found"]["seen"] != "" for one in cells),
            "unrecorded": [one["cell"] for one in cells if one["unrecorded"]],
            "only_recorded": [one["cell"] for one in cells if one["only_recorded"]],
            "changed": [one["cell"] for one in cells if one["changed"]],
        },
    )  # fmt: skip


def unrecorded(opened: OpenJournal) -> dict[str, int]:
    """Count, by plate, the cells that are typed in and not recorded; an unreadable table counts none."""
    counts: dict[str, int] = {}
    for plate in coupon_names(opened.journal):
        try:
            counts[plate] = len(look_at_outcomes(opened, plate).data["unrecorded"])
        except FarfaceError:
            continue
    return {plate: count for plate, count in counts.items() if count}


def record_outcomes(work: Workbench, plate: str, *, why: str = "") -> Answer:
    """Take a plate's table into the journal, with the trail of how it was typed.

    Where a recorded outcome was changed it needs a reason, ``why``, as the later reading will count.
    """
    path = table_path(work.places.folder, plate)
    recorded = {one.cell: one for one in recorded_outcomes(work.journal, plate)}
    found = {one.cell: one for one in read_outcomes(path).outcomes if one.plate == plate}
    changed = sorted(
        cell
        for cell, one in found.items()
        if cell in recorded and shown_findings(one) != shown_findings(recorded[cell])
    )
    if found and not changed and set(found) <= set(recorded):
        raise Missing(f"Everything typed for {plate} is in the journal already.")
    if changed and not why.strip():
        raise Malformed(
            f"{', '.join(changed)} of {plate} stood otherwise in the journal. Say why it is changed now."
        )
    trail = TypedBook(work.places.folder).trail(plate)
    kept = work.keep(trail, kind="typed", name=f"{plate}-typed.jsonl") if trail else None
    more = () if kept is None else (kept,)
    old = _superseded(work.journal, plate, set(found)) if changed else None
    correction = None if old is None else Correction(corrects=str(old.number), why=why.strip())
    return take_outcomes(work, path, correction=correction, more=more)


def _superseded(journal: Journal, plate: str, cells: set[str]) -> Record | None:
    """Find the reading that a newer one replaces whole; one that holds other cells stands beside it."""
    for record in reversed(journal.standing("outcomes")):
        told = record.body["data"]["outcomes"]
        if {one["plate"] for one in told} == {plate} and {one["cell"] for one in told} <= cells:
            return record
    return None


def _cell(
    one: TrialCell, coupon: Coupon, sheet: OutcomesSheet, recorded: dict[str, Outcome]
) -> dict[str, Json]:
    found = sheet.found(one.label)
    match = _LABEL.fullmatch(one.label)
    old = recorded.get(one.label)
    before = None if old is None else shown_findings(old)
    empty = not any(found.values())
    return {
        "cell": one.label, "order": one.order, "row": match[1] if match else one.label,
        "column": int(match[2]) if match else 1, "setting": show_setting(one.setting),
        "setting_parts": plain(one.setting), "found": found,
        "lacks": [] if empty else sheet.lacks(one.label),
        "unrecorded": found["seen"] != "" and _differs(found, before),
        "changed": not empty and before is not None and _differs(found, before),
        "only_recorded": empty and before is not None,
    }  # fmt: skip


def _differs(found: dict[str, str], before: dict[str, str] | None) -> bool:
    """Compare findings as numbers where they are some: "12" is "12.0"; an empty spread is the method's."""
    if before is None:
        return True
    return any(
        not _same(found[name], before.get(name, ""))
        for name in found
        if found[name] or name in ("seen", "depth_um", "whole_after_pass", "through_by_pass", "note")
    )


def _same(left: str, right: str) -> bool:
    try:
        return float(left) == float(right)
    except ValueError:
        return left == right


def _first_open(cells: list[dict[str, Json]]) -> str:
    """Choose the cell whose turn it is: the first in run order without an outcome."""
    left = [one["cell"] for one in cells if not one["found"]["seen"]]
    return str((left or [one["cell"] for one in cells] or [""])[0])


def _how_far(cells: list[dict[str, Json]]) -> str:
    seen = sum(one["found"]["seen"] != "" for one in cells)
    return f"{seen} of {len(cells)} cells typed in."


def _methods() -> list[dict[str, str]]:
    words = {
        "focus_travel": "focus travel", "section": "a cut section", "stylus": "a stylus",
        "weight_loss": "loss of weight", "feel_at_least": "feel: at least so deep",
    }  # fmt: skip
    return [
        {"name": name, "words": f"{words[name]} (± {show_quantity(sd_m, 'm', digits=1)})"}
        for name, sd_m in DEPTH_SD_M.items()
    ]
