"""Look at the cells that were proposed last, and lay them out as a coupon once the person accepts them."""

from typing import Final

from pydantic import TypeAdapter

from farface.app.answer import Answer, Json
from farface.app.coupon import lay_out_settings
from farface.app.coupon_order import PlateOrder
from farface.app.learn_look import present_job, stage_of
from farface.app.settings import show_setting
from farface.app.told_again import told_again
from farface.app.workbench import Workbench
from farface.journal import Record
from farface.kernel import Malformed, Missing
from farface.records import Setting

_SETTING: Final = TypeAdapter(Setting)


def look_at_next(work: Workbench) -> Answer:
    """Tell the last proposal again; nothing is computed."""
    record = work.journal.latest("next")
    told = Answer(title="Next") if record is None else told_again(work.journal, record)
    stage = stage_of(work, "next")
    proposals = [] if record is None else _proposals(record)
    data: dict[str, Json] = {
        "record": None if record is None else record.number,
        "asked": {} if record is None else record.body.get("request", {}).get("order", {}),
        "proposals": proposals, "invented": work.invented,
        "calibrated": work.journal.latest("fit") is not None,
        "stale": stage["says"] if stage["state"] == "stale" else "",
        "job": present_job(work.places.folder, "next", record),
    }  # fmt: skip
    return Answer(
        title="Next", sentences=told.sentences, tables=told.tables, pictures=told.pictures, data=data
    )


def accept_proposal(work: Workbench, number: str, chosen: tuple[int, ...], *, name: str) -> Answer:
    """Lay out the chosen cells of a proposal, counted from 1 as they are shown, as a coupon."""
    record = work.journal.meant(number)
    if record.kind != "next":
        raise Malformed(f"Record {record.number} is a {record.kind}, not a proposal of next cells.")
    proposals = _proposals(record)
    if not chosen or not set(chosen) <= set(range(1, len(proposals) + 1)):
        raise Missing("No cell of the proposal was chosen. Tick at least one.")
    settings = tuple(_SETTING.validate_python(proposals[k - 1]["setting"]) for k in sorted(set(chosen)))
    return lay_out_settings(work, settings, PlateOrder(name=name))


def _proposals(record: Record) -> list[dict[str, Json]]:
    """Give each proposed cell with its setting in words."""
    found = []
    for one in record.body["data"].get("proposals", ()):
        setting = _SETTING.validate_python(one["prediction"]["setting"])
        found.append(
            {"setting": one["prediction"]["setting"], "words": show_setting(setting), "why": one["why"],
             "odds": one["prediction"]["odds"], "risk": one["prediction"]["failure_risk"],
             "goal_odds": one["goal_odds"], "information": one["information"]}
        )  # fmt: skip
    return found
