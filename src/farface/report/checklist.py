"""Set a sheet with boxes to tick as one self-contained HTML page that prints on one side of paper."""

from dataclasses import dataclass
from itertools import groupby

from markupsafe import Markup

from farface.kernel import Malformed
from farface.report.content import Picture
from farface.report.labels import INVENTED
from farface.report.look import FONT, colour_rules
from farface.report.page import page_environment


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    """Hold one box to tick: its key, the group it stands under, what ticking it says, and who ticked it."""

    key: str
    group: str
    text: str
    must: bool = False
    ticked: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckSheet:
    """Hold one sheet: facts at hand, boxes in their groups, notes, blanks and empty lines to fill in."""

    title: str
    subtitle: str
    invented: bool
    facts: tuple[tuple[str, str], ...]
    boxes: tuple[Box, ...]
    cautions: tuple[str, ...]
    notes: tuple[str, ...] = ()
    picture: Picture | None = None
    blanks: tuple[str, ...] = ("name", "initials", "date", "time")
    lines: int = 0
    made_at: str = ""


def checklist_html(sheet: CheckSheet) -> str:
    """Set the sheet as HTML; every word is escaped. Raises `Malformed` for a sheet without boxes."""
    if not sheet.boxes:
        raise Malformed(f'the sheet "{sheet.title}" has nothing to tick. Give it its items.')
    groups = [(name, list(boxes)) for name, boxes in groupby(sheet.boxes, key=lambda box: box.group)]
    return (
        page_environment()
        .get_template("checklist.html.j2")
        .render(
            page=sheet,
            groups=groups,
            colours=Markup(colour_rules(":root")),
            font=Markup(FONT),
            invented_words=INVENTED,
        )
    )
