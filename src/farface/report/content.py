"""Hold what a report or a sheet says, in order, ready to be set as a page."""

from dataclasses import dataclass, field
from typing import Literal


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """Hold one picture, as SVG drawn here or as PNG, with a caption that says what to conclude.

    ``narrow_svg`` replaces ``svg`` on a phone. ``alt`` says what a PNG shows to one who cannot see it.
    """

    caption: str
    svg: str | None = None
    narrow_svg: str | None = None
    png: bytes | None = None
    alt: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """Hold one table; each row as long as the header."""

    header: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    caption: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Chapter:
    """Hold one part of a report: pictures stand before tables, tables before prose."""

    heading: str
    pictures: tuple[Picture, ...] = ()
    tables: tuple[Table, ...] = ()
    paragraphs: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Cautions:
    """Hold cautions of one kind, such as light or chemicals."""

    heading: str
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """Hold one source the report rests on, by its key, with how it stands behind a number."""

    key: str
    text: str
    status: Literal["read", "exact", "memory"]


@dataclass(frozen=True, slots=True, kw_only=True)
class ReportContent:
    """Hold a whole report; the first chapter's pictures stand at the top.

    ``made_at`` and ``versions`` are given, never looked up; ``seed`` is what makes the numbers come again.
    """

    title: str
    invented: bool
    calibrated: bool
    chapters: tuple[Chapter, ...]
    cautions: tuple[Cautions, ...]
    subtitle: str = ""
    sources: tuple[Source, ...] = ()
    versions: tuple[tuple[str, str], ...] = ()
    seed: int | None = None
    made_at: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetContent:
    """Hold a one-page sheet for the bench: steps, a picture, cells to tick off, cautions."""

    title: str
    invented: bool
    calibrated: bool
    cells: Table
    cautions: tuple[Cautions, ...]
    subtitle: str = ""
    picture: Picture | None = None
    steps: tuple[str, ...] = ()
    blanks: tuple[str, ...] = field(default=("name", "date"))
    made_at: str = ""
