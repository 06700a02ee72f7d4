"""Gather what was told of a bench, as the journal holds it, into one page that a person keeps."""

import platform
from importlib.metadata import version
from typing import Final

from farface import __version__
from farface.app.answer import Answer
from farface.app.sheets import stage_cautions
from farface.app.sources import all_sources
from farface.app.told_again import told_again
from farface.app.workbench import Workbench, now_utc
from farface.files.atomic import write_atomically
from farface.journal import Input, Record
from farface.kernel import Missing
from farface.report.content import Chapter, ReportContent
from farface.report.page import report_html

# Kinds of the journal in the order of the report, each with its heading.
CHAPTERS: Final = (
    ("explanation", "The section and the strip"),
    ("rig", "Rig"),
    ("bath", "Bath"),
    ("recipe", "Recipe of the bath"),
    ("wear", "Wear of the bath"),
    ("cell", "Cell"),
    ("focus", "Focus"),
    ("measured", "Measured spot and energy"),
    ("hazards", "Hazard estimates, not a clearance"),
    ("chemicals", "Chemicals and waste"),
    ("ticks", "What was ticked, and by whom"),
    ("window-prior", "The window before any plate"),
    ("coupon", "Coupon"),
    ("outcomes", "Outcomes"),
    ("footage", "Footage"),
    ("fit", "What the plates taught"),
    ("window", "The window now"),
    ("next", "What to run next"),
    ("part", "Part"),
)
# Of these every one is told, others only as last answered.
EVERY: Final = ("coupon", "outcomes", "footage", "measured", "ticks", "part")


def write_report(work: Workbench) -> Answer:
    """Write the report of a bench: the latest answer of every kind, sources, cautions, versions."""
    told = [(record, heading) for kind, heading in CHAPTERS for record in _records(work, kind)]
    chapters = tuple(_chapter(work, record, heading) for record, heading in told)
    if not chapters:
        raise Missing("nothing was done on this bench yet. Start with `farface rig` and `farface window`.")
    content = ReportContent(
        title=f"{work.rig.name}: far-face etching",
        subtitle=work.bath.name,
        invented=work.invented,
        calibrated=work.journal.latest("fit") is not None,
        chapters=chapters,
        cautions=stage_cautions("part"),
        sources=all_sources(),
        versions=(
            ("farface", __version__),
            ("Python", platform.python_version()),
            ("numpy", version("numpy")),
        ),
        seed=work.seed,
        made_at=now_utc(),
    )
    path = work.places.reports / "report.html"
    write_atomically(path, report_html(content).encode())
    answer = Answer(
        title="Report",
        sentences=(f"{len(chapters)} chapters in one file that needs nothing else.",),
        data={"chapters": [chapter.heading for chapter in chapters]},
        files=(path,),
    )
    inputs = (Input(role=record.kind, record=record.id) for record, _ in told)
    work.publish("report", answer, inputs=(*inputs, work.keep(path, kind="report")))
    return answer


def _records(work: Workbench, kind: str) -> tuple[Record, ...]:
    """Return the last record of a kind, or the last under each title where every one is told."""
    latest = {record.title if kind in EVERY else kind: record for record in work.journal.standing(kind)}
    return tuple(latest.values())


def _chapter(work: Workbench, record: Record, heading: str) -> Chapter:
    told = told_again(work.journal, record)
    return Chapter(
        heading=heading,
        pictures=told.pictures,
        tables=told.tables,
        paragraphs=(
            record.title,
            *told.sentences,
            f"Journal record {record.number}, {record.at_utc}.",
        ),
    )
