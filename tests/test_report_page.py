"""Hold pages to being one file: nothing runs, nothing is fetched, every word is only a word."""

import re
from html.parser import HTMLParser
from typing import Any

import pytest

from farface.kernel import Malformed
from farface.report.content import Cautions, Chapter, Picture, ReportContent, SheetContent, Source, Table
from farface.report.learned import learned_svg
from farface.report.page import inline, is_numeric, report_html, sheet_html
from farface.report.plan_view import passes_svg
from farface.report.section import section_caption, section_svg
from farface.report.strip import strip_svg
from farface.report.window_map import window_svg
from report_views import HOSTILE, learned_view, plan_view, section_view, strip_view, window_view

PNG = b"\x89PNG\r\n\x1a\n" + b"\x00" * 20
VOID = {"meta", "br", "img", "hr", "link", "input"}


class Reader(HTMLParser):
    """Read a page's tags, attributes and words, and hold it to closing what it opens."""

    def __init__(self) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str]]] = []
        self.open: list[str] = []
        self.text: list[str] = []

    def handle_starttag(self, tag: str, attrs: Any) -> None:
        self.tags.append((tag, {name: value or "" for name, value in attrs}))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: Any) -> None:
        self.tags.append((tag, {name: value or "" for name, value in attrs}))

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        self.text.append(data)


def _read(page: str) -> Reader:
    reader = Reader()
    reader.feed(page)
    reader.close()
    assert reader.open == []
    return reader


def _content(**changes: Any) -> ReportContent:
    view = section_view()
    section = Picture(
        svg=section_svg(view), narrow_svg=section_svg(view, narrow=True), caption=section_caption(view)
    )
    pictures = (
        section,
        Picture(svg=strip_svg(strip_view()), caption="strip"),
        Picture(svg=window_svg(window_view()), caption="window"),
        Picture(svg=learned_svg(learned_view()), caption="learned"),
        Picture(svg=passes_svg(plan_view()), caption="part"),
        Picture(png=PNG, caption="six frames", alt="six frames of a bubble"),
    )
    table = Table(header=("quantity", "value"), rows=(("plate", "1.10 mm"),), caption="rig")
    given: dict[str, Any] = {
        "title": "First loop",
        "invented": True,
        "calibrated": False,
        "chapters": (
            Chapter(heading="Setting", pictures=pictures, tables=(table,), paragraphs=("All of it.",)),
        ),
        "cautions": (Cautions(heading="Light", notes=("Class 4 laser, invisible beam.",)),),
        "sources": (Source(key="rayleigh1917", text="Rayleigh, https://example.org/1917", status="exact"),),
        "versions": (("farface", "0.1.0"),),
        "seed": 7,
        "made_at": "2031-04-02",
    }
    return ReportContent(**(given | changes))


def _sheet(**changes: Any) -> SheetContent:
    given: dict[str, Any] = {
        "title": "Coupon A",
        "invented": True,
        "calibrated": False,
        "cells": Table(header=("cell", "energy"), rows=(("A1", "0.2 mJ"), ("A2", "0.3 mJ"))),
        "cautions": (Cautions(heading="Light", notes=("Eyewear.",)),),
        "steps": ("Level the plate.",),
        "picture": Picture(svg=section_svg(section_view()), caption="section"),
    }
    return SheetContent(**(given | changes))


@pytest.mark.parametrize("page", [report_html(_content()), sheet_html(_sheet())], ids=["report", "sheet"])
def test_a_page_is_one_file_that_runs_and_fetches_nothing(page: str) -> None:
    reader = _read(page)
    assert not {"script", "link", "iframe", "object", "embed", "base", "form"} & {
        tag for tag, _ in reader.tags
    }
    for tag, attributes in reader.tags:
        assert not [name for name in attributes if name.startswith("on")], tag
        for name in ("src", "href", "srcset", "action", "data", "poster", "xlink:href"):
            assert attributes.get(name, "data:").startswith("data:"), (tag, name)
        for value in attributes.values():
            assert not re.search(r"url\((?!#)", value)
    style = "".join(re.findall(r"<style>(.*?)</style>", page, re.DOTALL))
    assert "@import" not in style
    assert "url(" not in style


def test_a_report_holds_everything_it_was_given() -> None:
    page = report_html(_content())
    said = " ".join(" ".join(_read(page).text).split())
    for words in (
        "First loop",
        "invented data",
        "not calibrated: prior only",
        "1.10 mm",
        "All of it.",
        "six frames",
        "Class 4 laser, invisible beam.",
        "[rayleigh1917]",
        "exact mathematics",
        "Made 2031-04-02. farface 0.1.0. Seed 7: the same seed",
    ):
        assert words in said, words
    assert page.count("<svg") == 6
    assert page.index("<figure") < page.index("<table") < page.index("All of it.")


def test_flags_are_shown_only_where_they_hold() -> None:
    bare = report_html(_content(invented=False, calibrated=True, chapters=(), cautions=(), sources=()))
    assert "invented data" not in bare
    assert "prior only" not in bare


def test_ids_are_unique_on_a_page() -> None:
    ids = [a["id"] for _, a in _read(report_html(_content())).tags if "id" in a]
    assert len(ids) == len(set(ids)) > 10


@pytest.mark.parametrize("kind", ["report", "sheet"])
def test_words_of_people_stay_words(kind: str) -> None:
    table = Table(header=(HOSTILE,), rows=((HOSTILE,),), caption=HOSTILE)
    notes = (Cautions(heading=HOSTILE, notes=(HOSTILE,)),)
    picture = Picture(png=PNG, caption=HOSTILE, alt=HOSTILE)
    both: dict[str, Any] = {"title": HOSTILE, "subtitle": HOSTILE, "cautions": notes, "made_at": HOSTILE}
    if kind == "report":
        chapter = Chapter(heading=HOSTILE, pictures=(picture,), tables=(table,), paragraphs=(HOSTILE,))
        sources = (Source(key=HOSTILE, text=HOSTILE, status="read"),)
        versions = ((HOSTILE, HOSTILE),)
        page = report_html(_content(**both, chapters=(chapter,), sources=sources, versions=versions))
    else:
        page = sheet_html(_sheet(**both, cells=table, steps=(HOSTILE,), blanks=(HOSTILE,), picture=picture))
    reader = _read(page)
    assert "script" not in {tag for tag, _ in reader.tags}
    assert not [a for _, a in reader.tags if "onload" in a]
    assert "".join(reader.text).count("<script>alert(1)</script>") >= 6


@pytest.mark.parametrize(
    "inside",
    [
        "<script>alert(1)</script>",
        '<rect onload="alert(1)"/>',
        '<a href="https://example.org"><rect/></a>',
        '<image href="https://example.org/x.png"/>',
        '<rect fill="url(https://example.org/x)"/>',
        '<rect style="fill:url(https://example.org/x)"/>',
        "<style>@import 'https://example.org/x.css'</style>",
        "<foreignObject/>",
        "<rect",
    ],
)
def test_pictures_that_run_or_fetch_are_refused(inside: str) -> None:
    with pytest.raises(Malformed):
        inline(f'<svg xmlns="http://www.w3.org/2000/svg">{inside}</svg>')
    assert inline('<svg xmlns="http://www.w3.org/2000/svg"><rect fill="url(#here)"/></svg>')


def test_a_sheet_has_a_box_to_tick_for_every_cell_and_blanks_to_fill() -> None:
    page = sheet_html(_sheet(blanks=("operator", "date")))
    assert page.count('class="box"') == 2
    assert "operator:" in page
    assert "Level the plate." in page


@pytest.mark.parametrize(
    "chapter",
    [
        Chapter(heading="x", tables=(Table(header=("a", "b"), rows=(("1",),)),)),
        Chapter(heading="x", pictures=(Picture(caption="none"),)),
        Chapter(heading="x", pictures=(Picture(caption="no png", png=b"GIF89a"),)),
    ],
)
def test_what_cannot_be_set_is_refused(chapter: Chapter) -> None:
    with pytest.raises(Malformed):
        report_html(_content(chapters=(chapter,)))


def test_numbers_are_told_from_words() -> None:
    assert all(is_numeric(cell) for cell in ("1.10 mm", "± 20 um", "-3", "40 %"))
    assert not any(is_numeric(cell) for cell in ("A1", "steady", ""))
