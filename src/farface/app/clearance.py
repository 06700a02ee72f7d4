"""Take a person's confirmation of the cautions, and say what became of it."""

from farface.app.ticks import standing_answers
from farface.app.workbench import Workbench, now_utc
from farface.kernel import Missing
from farface.records import Confirmation
from farface.safety.gate import REQUIRED_STATEMENT


def confirmation(work: Workbench, person: str) -> Confirmation:
    """Write down who confirms the cautions and when, with the set-up sheet's answers that still stand."""
    if not person.strip():
        raise Missing(
            "the plan is to be cleared by nobody. Give the name of the person who read the cautions."
        )
    return Confirmation(
        person=person.strip(), at_utc=now_utc(), statement=REQUIRED_STATEMENT, answers=standing_answers(work)
    )


def clearance_words(cleared: Confirmation | None) -> str:
    """Say that nothing was written for a machine and how to clear it, or who cleared it."""
    if cleared is None:
        return (
            "Nothing was written for a machine. A person who has read the cautions answers the set-up sheet "
            '(`farface tick`), then clears the plan with --confirm "their name", which states: '
            + REQUIRED_STATEMENT
        )
    return f"Cleared by {cleared.person} at {cleared.at_utc}, who confirmed: {cleared.statement}"
