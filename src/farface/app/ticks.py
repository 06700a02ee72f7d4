"""Record the ticks of a sheet with the initials of who made them, and gather those that still stand."""

from collections.abc import Sequence
from dataclasses import dataclass
from hashlib import sha256
from typing import Final

from farface.app.answer import Answer, plain
from farface.app.titles import titled
from farface.app.workbench import Workbench, now_utc
from farface.journal import Input
from farface.kernel import Malformed, Missing
from farface.records import HazardAnswer
from farface.report.content import Table
from farface.safety.hazard_items import SHEETS, SheetItem, SheetName, hazard_reasons, items_of

WITHDRAWN: Final = "withdrawn"
INITIALS_MOST: Final = 16


@dataclass(frozen=True, slots=True, kw_only=True)
class TickOrder:
    """Say which boxes of a sheet are ticked and by whom; ``everything`` ticks all that are not named else.

    ``not_needed`` holds texts such as ``"acid=no acid in this bath"``; ``withdraw`` takes ticks back.
    """

    sheet: str
    initials: str
    everything: bool = False
    items: tuple[str, ...] = ()
    not_needed: tuple[str, ...] = ()
    withdraw: tuple[str, ...] = ()
    note: str = ""


def tick_sheet(work: Workbench, order: TickOrder) -> Answer:
    """Write ticks into the journal, and say what is still unanswered before a plan can be cleared."""
    sheet = sheet_name(order.sheet)
    initials = order.initials.strip()
    if not 0 < len(initials) <= INITIALS_MOST:
        raise Missing(
            f'the ticks carry the initials "{initials}", which should be 1 to {INITIALS_MOST} letters. Give '
            "those of the person who made them with --initials."
        )
    answers = _answers(sheet, order, initials)
    told = Answer(
        title=titled(work, f"Ticks on the {sheet} sheet by {initials}"),
        sentences=(_count_words(len(answers), sheet),),
        tables=(_table(sheet, answers),),
        data={"sheet": sheet, "initials": initials, "note": order.note, "answers": plain(answers)},
    )
    work.publish("ticks", told)
    return Answer(
        title=told.title,
        sentences=(*told.sentences, open_words(work)),
        tables=told.tables,
        data=told.data,
    )


def standing_answers(work: Workbench) -> tuple[HazardAnswer, ...]:
    """Gather the last answer to each item that was given for the rig and the bath as they are now.

    When rig.toml or bath.toml has changed since, an answer no longer stands: it was given for another bench.
    """
    now = {(item.role, item.file) for item in _settings(work)}
    standing: dict[str, HazardAnswer] = {}
    for record in work.journal.standing("ticks"):
        if not now <= {(item.role, item.file) for item in record.inputs}:
            continue
        for told in record.body["data"]["answers"]:
            if told["answer"] == WITHDRAWN:
                standing.pop(told["item"], None)
            else:
                standing[told["item"]] = HazardAnswer(**told)
    return tuple(standing.values())


def open_words(work: Workbench) -> str:
    """Say what is still missing before a plan can be cleared."""
    reasons = list(hazard_reasons(standing_answers(work), at_utc=now_utc()))
    if not reasons:
        return "Every hazard item is answered; a plan can be cleared for the next hours, if all else holds."
    return f"No plan can be cleared yet: {'; '.join(reasons)}."


def sheet_name(text: str) -> SheetName:
    """Read the name of a sheet, with or without its hyphen."""
    wanted = text.strip().lower().replace("-", "").replace(" ", "").removesuffix("sheet")
    for name in SHEETS:
        if name.replace("-", "") == wanted:
            return name
    raise Malformed(f'"{text}" is no sheet. Choose one of: {", ".join(SHEETS)}.')


def _count_words(count: int, sheet: str) -> str:
    return f"{count} {'box' if count == 1 else 'boxes'} of the {sheet} sheet recorded."


def _settings(work: Workbench) -> tuple[Input, ...]:
    """Name rig and bath as they are now by their hashes, as a record that rests on them does."""
    return tuple(
        Input(role=kind, file=sha256(text).hexdigest())
        for kind, text in zip(("rig", "bath"), work.texts, strict=True)
    )


def _answers(sheet: SheetName, order: TickOrder, initials: str) -> list[dict[str, str]]:
    """Turn what was typed into one answer an item, in the order of the sheet."""
    reasons = dict(_reason(text) for text in order.not_needed)
    named = (*order.items, *reasons, *order.withdraw)
    items = items_of(sheet)
    _check_keys(named, items, sheet)
    if not named and not order.everything:
        raise Missing(
            f"nothing of the {sheet} sheet was ticked. Name its items, or tick all of them with --all "
            "once every box on the paper is ticked."
        )
    ticked = {item.key for item in items if order.everything and item.key not in named} | set(order.items)
    given = dict.fromkeys(ticked, "done") | dict.fromkeys(reasons, "not needed")
    given |= dict.fromkeys(order.withdraw, WITHDRAWN)
    at_utc = now_utc()
    return [
        {"item": item.key, "answer": given[item.key], "initials": initials, "at_utc": at_utc,
         "reason": reasons.get(item.key, "")}
        for item in items if item.key in given
    ]  # fmt: skip


def _reason(text: str) -> tuple[str, str]:
    key, _, reason = text.partition("=")
    if not reason.strip():
        raise Malformed(
            f'"{text}" says not why the item is not needed. Write it as "acid=no acid in this bath".'
        )
    return key.strip(), reason.strip()


def _check_keys(named: Sequence[str], items: Sequence[SheetItem], sheet: str) -> None:
    keys = [item.key for item in items]
    unknown = [key for key in named if key not in keys]
    if unknown:
        raise Malformed(f'"{unknown[0]}" is no item of the {sheet} sheet. Its items are {", ".join(keys)}.')
    twice = {key for key in named if list(named).count(key) > 1}
    if twice:
        raise Malformed(f'"{min(twice)}" is answered more than once. Answer it once.')


def _table(sheet: SheetName, answers: Sequence[dict[str, str]]) -> Table:
    text = {item.key: item.text for item in items_of(sheet)}
    return Table(
        caption=f"What was ticked on the {sheet} sheet",
        header=("item", "answer", "what it says"),
        rows=tuple(
            (a["item"], a["answer"] + (f": {a['reason']}" if a["reason"] else ""), text[a["item"]])
            for a in answers
        ),
    )
