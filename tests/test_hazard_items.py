"""Hold the gate to every hazard item: answered, signed, of the day, and for this rig and bath."""

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from demo_bench import demo_bench
from farface.app.ticks import TickOrder, standing_answers, tick_sheet
from farface.app.workbench import Workbench, open_workbench
from farface.kernel import Malformed, Missing, Refused
from farface.records import HazardAnswer
from farface.safety.gate import clear
from farface.safety.hazard_items import ITEMS, SHEETS, hazard_items, hazard_reasons, items_of
from plan_records import ANSWERS, CONFIRMATION, RIG, draft

AT = "2024-05-01T10:00:00Z"


def refusal(answers: tuple[HazardAnswer, ...]) -> str:
    with pytest.raises(Refused) as refused:
        clear(
            draft(), RIG, replace(CONFIRMATION, answers=answers),
            accepted_break_risk=0.05, accepted_pierce_risk=0.05,
        )  # fmt: skip
    return str(refused.value)


def changed(key: str, **changes: str) -> tuple[HazardAnswer, ...]:
    return tuple(replace(a, **changes) if a.item == key else a for a in ANSWERS)


@pytest.mark.parametrize("item", hazard_items(), ids=lambda item: item.key)
def test_each_unanswered_item_stops_the_plan_and_is_named(item) -> None:
    text = refusal(tuple(answer for answer in ANSWERS if answer.item != item.key))
    assert f'1 hazard item is unanswered: "{item.key}" ({item.text.rstrip(".")})' in text
    assert "(2)" not in text


def test_no_answers_at_all_name_every_item() -> None:
    text = refusal(())
    assert f"{len(hazard_items())} hazard items are unanswered" in text
    assert all(f'"{item.key}"' in text for item in hazard_items())


@pytest.mark.parametrize(
    ("key", "changes", "reason"),
    [
        ("eyewear", {"initials": "  "}, 'the hazard item "eyewear" is answered without initials'),
        ("eyewear", {"answer": "not needed", "reason": "too dark"}, "but it always is"),
        ("acid", {"answer": "not needed"}, "without a reason"),
        ("gloves", {"at_utc": "2024-04-30T09:00:00Z"}, "is 25 h old, and answers are good for 24 h"),
        ("gloves", {"at_utc": "2024-05-01T10:00:01Z"}, "no time before"),
        ("gloves", {"at_utc": "this morning"}, "no time before"),
        ("gloves", {"at_utc": "2024-05-01T09:00:00"}, "no time before"),
    ],
)
def test_an_answer_must_be_signed_reasoned_and_of_the_day(key: str, changes: dict, reason: str) -> None:
    assert reason in refusal(changed(key, **changes))


def test_what_may_be_left_out_is_left_out_with_a_reason() -> None:
    answers = changed("acid", answer="not needed", reason="no acid in this bath")
    assert list(hazard_reasons(answers, at_utc=AT)) == []


def test_an_unknown_answer_does_not_stand_for_a_missing_one() -> None:
    answers = (*ANSWERS[1:], replace(ANSWERS[0], item="a lucky charm"))
    assert f'"{ANSWERS[0].item}"' in refusal(answers)


def test_the_sheets_hold_every_item_once_and_the_hazards_stand_before_the_run() -> None:
    assert len({item.key for item in ITEMS}) == len(ITEMS)
    assert sum((items_of(sheet) for sheet in SHEETS), ()) == tuple(
        sorted(ITEMS, key=lambda item: SHEETS.index(item.sheet))
    )
    assert {item.sheet for item in hazard_items()} == {"set-up"}


@pytest.mark.common_practice
@pytest.mark.parametrize(
    "word",
    ["enclosed", "interlocked", "eyewear", "laser safety officer", "local codes", "data sheets", "Gloves",
     "goggles", "eyewash", "acid was poured into the water", "tray", "Labelled", "Extraction", "cover",
     "copper-bearing waste", "can stop it"],
)  # fmt: skip
def test_what_must_be_settled_before_a_run_is_asked(word: str) -> None:
    assert any(word in item.text for item in hazard_items())


# --- recorded in the journal -------------------------------------------------------------------


@pytest.fixture
def work(tmp_path: Path) -> Iterator[Workbench]:
    with open_workbench(demo_bench(tmp_path / "bench").folder) as opened:
        yield opened


ALL = TickOrder(sheet="set-up", initials="AB", everything=True)


def test_ticks_and_initials_stand_in_the_journal(work: Workbench) -> None:
    assert "hazard items are unanswered" in tick_sheet(work, replace(ALL, sheet="clean-up")).sentences[-1]
    told = tick_sheet(work, ALL)
    assert "a plan can be cleared" in told.sentences[-1]
    record = work.journal.latest("ticks")
    assert record is not None
    assert {answer["initials"] for answer in record.body["data"]["answers"]} == {"AB"}
    assert {answer.item for answer in standing_answers(work)} > {item.key for item in hazard_items()}


def test_a_tick_can_be_taken_back_but_not_out_of_the_record(work: Workbench) -> None:
    tick_sheet(work, ALL)
    told = tick_sheet(work, TickOrder(sheet="set-up", initials="CD", withdraw=("eyewear",)))
    assert '1 hazard item is unanswered: "eyewear"' in told.sentences[-1]
    assert len(work.journal.all("ticks")) == 2


@pytest.mark.parametrize("which", ["rig", "bath"])
def test_ticks_do_not_stand_for_a_changed_bench(work: Workbench, which: str) -> None:
    tick_sheet(work, ALL)
    assert standing_answers(work)
    path = getattr(work.places, which)
    path.write_text(path.read_text() + "\n# another lens, another bath\n")
    with open_workbench(work.places.folder) as later:
        assert standing_answers(later) == ()


@pytest.mark.parametrize(
    ("order", "fault", "words"),
    [
        (replace(ALL, initials=" "), Missing, "1 to 16 letters"),
        (replace(ALL, initials="A. Very Long Name"), Missing, "1 to 16 letters"),
        (replace(ALL, sheet="tax"), Malformed, '"tax" is no sheet'),
        (replace(ALL, everything=False), Missing, "nothing of the set-up sheet was ticked"),
        (replace(ALL, items=("luck",)), Malformed, '"luck" is no item of the set-up sheet'),
        (replace(ALL, items=("acid",), withdraw=("acid",)), Malformed, "more than once"),
        (replace(ALL, not_needed=("acid",)), Malformed, "says not why"),
    ],
)
def test_ticks_that_say_nothing_are_refused(work: Workbench, order: TickOrder, fault, words: str) -> None:
    with pytest.raises(fault, match=words):
        tick_sheet(work, order)
    assert work.journal.all("ticks") == ()
