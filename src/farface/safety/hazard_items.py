"""Hold the items of the three sheets, and judge whether the hazards among them were answered.

The items are the usual practice of the trade (common practice, no source). They remind; local codes, the
suppliers' data sheets and the responsible laser safety officer decide.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final, Literal

from farface.records import HazardAnswer

SheetName = Literal["set-up", "run", "clean-up"]
SHEETS: Final[tuple[SheetName, ...]] = ("set-up", "run", "clean-up")

# A bench changes overnight: answers are good for the day. Common practice, no source.
GOOD_FOR: Final = timedelta(hours=24)


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetItem:
    """Hold one box to tick: its key, its sheet, its group, and what ticking it says.

    Of the items that are a ``hazard`` each must be answered before a plan is cleared; one that is also
    ``always`` cannot be answered with "not needed".
    """

    key: str
    sheet: SheetName
    group: str
    text: str
    hazard: bool = False
    always: bool = False


def _hazard(key: str, group: str, text: str, *, always: bool = True) -> SheetItem:
    return SheetItem(key=key, sheet="set-up", group=group, text=text, hazard=True, always=always)


def _item(key: str, sheet: SheetName, group: str, text: str) -> SheetItem:
    return SheetItem(key=key, sheet=sheet, group=group, text=text)


ITEMS: Final[tuple[SheetItem, ...]] = (
    _hazard("officer", "beam", "The responsible laser safety officer knows of it; local codes are met."),
    _hazard("enclosure", "beam", "The beam path is enclosed, every door interlocked, the lamp works."),
    _hazard("eyewear", "beam", "Everyone wears eyewear marked for this wavelength and its pulses."),
    _hazard("reflections", "beam", "No ring, watch, bare tool or mirror is where the beam can reach."),
    _hazard("beam-stop", "beam", "A stop that bears the full power stands under the cell."),
    _hazard("fire", "beam", "Nothing that burns is near the beam; an extinguisher is within reach."),
    _hazard("data-sheets", "bath", "The suppliers' data sheets of everything in the bath have been read."),
    _hazard("gloves", "bath", "Gloves, closed goggles and a coat are on; no food or drink is in the room."),
    _hazard("eyewash", "bath", "Running water or an eyewash is within reach and works."),
    _hazard(
        "acid", "bath", "The acid was poured into the water, and a neutraliser stands ready.", always=False
    ),
    _hazard("tray", "bath", "The cell stands in a tray that holds the whole bath; it was tried with water."),
    _hazard("label", "bath", "The bath's bottle says what, how strong, whose, since when, and its hazards."),
    _hazard("extraction", "vapours", "Extraction runs and draws away from the face; nothing sharp is smelt."),
    _hazard("cover", "splash", "The splash cover lies on the cell, and lens and camera are shielded."),
    _hazard("glass", "breaking", "A lid or shield stands between the plate and every face in a run."),
    _hazard("waste", "waste", "Labelled containers for copper-bearing waste and for wet glass stand ready."),
    _hazard("watch", "run", "Someone stays with the run from first to last pulse and can stop it."),
    _hazard("alone", "run", "Someone else knows that this runs and will look in.", always=False),
    _item("plate", "set-up", "plate", "The plate is clean, free of chips, and its thickness measured."),
    _item("level", "set-up", "plate", "The bath wets the far face to its edges; no bubble under the path."),
    _item("flat", "set-up", "focus", "The plate lies level within the tilt allowed above."),
    _item("focus", "set-up", "focus", "Focused on the front face, then the lens lowered as said above."),
    _item("energy", "set-up", "focus", "The pulse energy was read with the meter at this rate."),
    _item("doors", "run", "before the first pulse", "Doors shut, eyewear on, room cleared, lamp lit."),
    _item("pilot", "run", "before the first pulse", "The path was run with the pilot light, all of it on "
                                                    "the plate."),
    _item("camera", "run", "before the first pulse", "Camera armed; its file name is written below."),
    _item("first", "run", "while it runs", "First cell or pass watched to its end: as expected."),
    _item("level-held", "run", "while it runs", "Level looked at, and topped up with water."),
    _item("smell", "run", "while it runs", "No sharp smell, no smoke, no crack heard: else stopped."),
    _item("ended", "run", "after the last pulse", "Laser off and key drawn; five minutes waited, lid shut."),
    _item("lifted", "clean-up", "glass", "Plate lifted with tongs, rinsed over the tray, dried, labelled."),
    _item("wiped", "clean-up", "glass", "Bench and cell wiped wet: needles and fibres are too fine to see."),
    _item("shards", "clean-up", "glass", "Broken and wet glass put into its rigid, labelled container."),
    _item("filtered", "clean-up", "bath", "Bath filtered back into its bottle; age and colour noted."),
    _item("copper", "clean-up", "waste", "Rinse water and wipes in the copper waste: none to the drain."),
    _item("lens", "clean-up", "splash", "Lens window and camera window looked at, and cleaned of splashes."),
    _item("hands", "clean-up", "person", "Gloves off inside out, hands and face washed."),
    _item("outcomes", "clean-up", "record", "Outcomes written down while the plate is at hand."),
)  # fmt: skip


def items_of(sheet: SheetName) -> tuple[SheetItem, ...]:
    """Pick the items of one sheet, in order."""
    return tuple(item for item in ITEMS if item.sheet == sheet)


def hazard_items() -> tuple[SheetItem, ...]:
    """Pick the items that must be answered before a plan is cleared."""
    return tuple(item for item in ITEMS if item.hazard)


def hazard_reasons(answers: Iterable[HazardAnswer], *, at_utc: str) -> Iterator[str]:
    """Say what is still missing of the answers to the hazard items, at a time (UTC, ISO 8601)."""
    by_item = {answer.item: answer for answer in answers}
    open_items = [item for item in hazard_items() if item.key not in by_item]
    if open_items:
        listed = ", ".join(f'"{item.key}" ({item.text.rstrip(".")})' for item in open_items)
        count = "1 hazard item is" if len(open_items) == 1 else f"{len(open_items)} hazard items are"
        yield f"{count} unanswered: {listed}"
    for item in hazard_items():
        if item.key in by_item:
            yield from _answer_reasons(item, by_item[item.key], at_utc)


def _answer_reasons(item: SheetItem, answer: HazardAnswer, at_utc: str) -> Iterator[str]:
    if not answer.initials.strip():
        yield f'the hazard item "{item.key}" is answered without initials'
    if answer.answer == "not needed":
        if item.always:
            yield f'the hazard item "{item.key}" is answered "not needed", but it always is: {item.text}'
        elif not answer.reason.strip():
            yield f'the hazard item "{item.key}" is answered "not needed" without a reason'
    age = _age(answer.at_utc, at_utc)
    if age is None or age < timedelta(0):
        yield f'the hazard item "{item.key}" has the time "{answer.at_utc}", which is no time before {at_utc}'
    elif age > GOOD_FOR:
        hours, most = age.total_seconds() / 3600.0, GOOD_FOR.total_seconds() / 3600.0
        yield f'the answer to "{item.key}" is {hours:.0f} h old, and answers are good for {most:.0f} h'


def _age(then_utc: str, now_utc: str) -> timedelta | None:
    """Give the time between two texts, None where either is no time."""
    try:
        return datetime.fromisoformat(now_utc) - datetime.fromisoformat(then_utc)
    except (TypeError, ValueError):
        return None
