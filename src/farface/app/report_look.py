"""Look at the last report, and find its page as the journal keeps it."""

from farface.app.answer import Answer, Json
from farface.app.workbench import Workbench
from farface.journal import Record
from farface.kernel import Missing


def look_at_report(work: Workbench) -> Answer:
    """Tell when the last report was written, what it holds, and how many records are newer."""
    record = work.journal.latest("report")
    data: dict[str, Json] = {"record": None, "chapters": [], "newer": 0, "invented": work.invented}
    if record is None:
        return Answer(title="Report", sentences=("No report was written yet.",), data=data)
    newer = work.journal.count() - record.number
    data |= {"record": record.number, "at_utc": record.at_utc, "newer": newer}
    data |= {"chapters": record.body["data"]["chapters"]}
    words = f"Written {record.at_utc[:16].replace('T', ' ')} UTC, as record {record.number} of the journal."
    return Answer(title="Report", sentences=(words,), data=data)


def report_page(work: Workbench) -> bytes:
    """Read the last report as the journal keeps it; `Missing` when there is none."""
    record = work.journal.latest("report")
    if record is None:
        raise Missing("No report was written yet. Write one first.")
    return work.journal.content(_kept(record))


def _kept(record: Record) -> str:
    for item in record.inputs:
        if item.role == "report" and item.file is not None:
            return item.file
    raise Missing(f"Record {record.number} keeps no report. Write one anew.")
