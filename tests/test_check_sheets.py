"""Hold the sheets to every item, to one page of paper each, and to words being only words."""

import os
import re
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest

from demo_bench import demo_bench
from farface.app.check_sheets import write_sheets
from farface.app.settings import Typed
from farface.app.ticks import INITIALS_MOST, TickOrder, tick_sheet
from farface.app.workbench import Workbench, open_workbench
from farface.kernel import Malformed
from farface.report.checklist import Box, CheckSheet, checklist_html
from farface.safety.hazard_items import SHEETS, items_of

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")


@pytest.fixture
def work(tmp_path: Path) -> Iterator[Workbench]:
    with open_workbench(demo_bench(tmp_path / "bench").folder) as opened:
        yield opened


def page(work: Workbench, name: str) -> str:
    return (work.places.reports / f"{name}-sheet.html").read_text("utf-8")


def test_every_item_has_a_box_on_its_sheet(work: Workbench) -> None:
    told = write_sheets(work, Typed())
    assert [path.name for path in told.files] == [f"{name}-sheet.html" for name in SHEETS]
    for name in SHEETS:
        text = page(work, name)
        assert all(item.text.replace("'", "&#39;") in text for item in items_of(name))
        assert text.count("box to tick") == len(items_of(name))
        assert "invented data" in text
        assert "initials" in text
        musts = sum(item.hazard for item in items_of(name))
        assert text.count("box to tick, must be answered") == musts


def test_the_set_up_sheet_carries_the_benchs_numbers_and_cautions(work: Workbench) -> None:
    write_sheets(work, Typed())
    text = page(work, "set-up")
    for words in (
        "752.3 um",
        "12.00 mm",
        "mrad",
        "not a clearance",
        "laser safety officer",
        "never water into acid",
    ):
        assert words in text
    assert "never" in page(work, "clean-up")
    assert "drain" in page(work, "clean-up")
    assert "<svg" in page(work, "run")


def test_one_sheet_alone_is_written_when_asked(work: Workbench) -> None:
    told = write_sheets(work, Typed(), only="setup")
    assert [path.name for path in told.files] == ["set-up-sheet.html"]
    with pytest.raises(Malformed, match="is no sheet"):
        write_sheets(work, Typed(), only="tax")


def test_ticks_come_back_on_the_next_print(work: Workbench) -> None:
    tick_sheet(
        work, TickOrder(sheet="set-up", initials="QZ", items=("gloves",), not_needed=("acid=no acid here",))
    )
    write_sheets(work, Typed())
    text = page(work, "set-up")
    assert len(re.findall(r"QZ \d\d:\d\d", text)) == 2
    assert "no acid here" in text


HOSTILE = "<script>alert(1)</script>\"'&"


def test_words_are_only_words() -> None:
    sheet = CheckSheet(
        title=HOSTILE, subtitle=HOSTILE, invented=False, facts=((HOSTILE, HOSTILE),),
        boxes=(Box(key="a", group=HOSTILE, text=HOSTILE, ticked=HOSTILE),), cautions=(HOSTILE,),
        notes=(HOSTILE,), blanks=(HOSTILE,), made_at=HOSTILE,
    )  # fmt: skip
    text = checklist_html(sheet)
    assert "<script" not in text
    assert "invented data" not in text
    assert "http" not in text


def test_a_sheet_without_boxes_is_refused() -> None:
    sheet = CheckSheet(title="x", subtitle="", invented=False, facts=(), boxes=(), cautions=())
    with pytest.raises(Malformed, match="nothing to tick"):
        checklist_html(sheet)


@pytest.mark.browser
@pytest.mark.skipif(CHROMIUM is None and os.environ.get("CI") != "true", reason="no Chromium here")
def test_each_sheet_prints_on_one_page(work: Workbench, tmp_path: Path) -> None:
    tick_sheet(work, TickOrder(sheet="set-up", initials="M" * INITIALS_MOST, everything=True))
    write_sheets(work, Typed())
    for name in SHEETS:
        printed = tmp_path / f"{name}.pdf"
        subprocess.run(
            [str(CHROMIUM), "--headless", "--no-sandbox", "--disable-gpu", "--no-first-run",
             "--disable-background-networking", "--no-pdf-header-footer",
             f"--user-data-dir={tmp_path / 'browser'}", f"--print-to-pdf={printed}",
             (work.places.reports / f"{name}-sheet.html").as_uri()],
            capture_output=True, check=True, timeout=60,
        )  # fmt: skip
        assert len(re.findall(rb"/Type\s*/Page\b", printed.read_bytes())) == 1, name
