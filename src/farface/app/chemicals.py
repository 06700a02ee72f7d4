"""Tell what the bath is made of and gives off, its hazards, first aid, and what becomes of the waste."""

from farface.app.answer import Answer, plain
from farface.app.titles import titled
from farface.app.workbench import Workbench
from farface.report.content import Table
from farface.safety.chemicals import chemicals_of
from farface.safety.handling import HANDLING, LEAVINGS, TOPICS, handling_of


def tell_chemicals(work: Workbench) -> Answer:
    """List what `look_at_chemicals` does, and record it."""
    answer = look_at_chemicals(work)
    work.publish("chemicals", answer, request={})
    return answer


def look_at_chemicals(work: Workbench) -> Answer:
    """List the substances met at this bath with their hazard statements, and how to handle them."""
    met = chemicals_of(work.bath)
    statements = tuple(
        (chemical.name, chemical.cas, statement.text, f"{statement.source}, {statement.standing}")
        for chemical in met
        for statement in chemical.statements
    ) + tuple((name, "none", text, "common practice, no source") for name, text in LEAVINGS)
    return Answer(
        title=titled(work, f"Chemicals and waste: {work.bath.name}"),
        sentences=(
            "These lines remind. The data sheet of your own supplier and local codes stand above them: "
            "read the sheet of everything you pour, before you pour it.",
            "Nothing that met copper goes to the drain.",
        ),
        tables=(
            Table(
                caption="Hazard statements of what is met",
                header=("substance", "registry number", "statement", "from"),
                rows=statements,
            ),
            *(
                Table(
                    caption=f"{topic.capitalize()} (common practice, no source)",
                    header=("about", "what to do", "defer to"),
                    rows=tuple((line.about, line.text, line.defers_to) for line in handling_of(topic)),
                )
                for topic in TOPICS
            ),
        ),
        data={"chemicals": plain(met), "leavings": plain(LEAVINGS), "handling": plain(HANDLING)},
    )
