"""The whole loop once, as the README's first command runs it, and what it leaves."""

import json
import re
import signal
import subprocess
import time
from pathlib import Path

import numpy as np
import pytest

from farface.journal import Journal
from test_cli import RUN, farface, refused

pytestmark = pytest.mark.slow
SETTING = ("--energy", "350 uJ", "--pulses", "8", "--pitch", "18 um")
LOOP = ("rig", "bath", "window before", "coupon", "outcomes", "footage", "learn", "window after", "next",
        "part", "explain", "report")  # fmt: skip
# The chamber is to be 100 um deep; passes are whole, and the median of the draws decides.
DEPTH_UM, WHOLE_PASSES_UM = 100.0, 8.0


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("demo") / "counting-chamber"
    done = subprocess.run(
        [*RUN, "demo", str(folder), "--json"], capture_output=True, text=True, check=False, timeout=540
    )
    assert done.returncode == 0, done.stderr
    steps = [step["step"] for step in json.loads(done.stdout)["data"]["steps"]]
    assert [step for step in steps if step in LOOP] == list(LOOP)
    return folder


def test_the_report_needs_nothing_else(demo: Path) -> None:
    page = (demo / "reports" / "report.html").read_text("utf-8")
    assert "<script" not in page
    assert not re.search(r'(src|href)="(?!data:|#)', page)
    assert not re.search(r"url\((?!#|data:)", page)
    for heading in ("The section and the strip", "The window before any plate", "What the plates taught",
                    "What to run next", "Part", "Cautions"):  # fmt: skip
        assert heading in page


def test_every_picture_and_table_of_it_is_marked_invented(demo: Path) -> None:
    for picture in (*(demo / "reports").glob("*.svg"), *(demo / "runs" / "chamber").glob("*.svg"),
                    demo / "coupons" / "P1.svg", demo / "reports" / "report.html",
                    demo / "coupons" / "P1-sheet.html"):  # fmt: skip
        assert "invented data" in picture.read_text("utf-8"), picture.name
    assert "invented data" in (demo / "coupons" / "P1-filled.csv").read_text("utf-8")
    assert "invented data" in (demo / "runs" / "chamber" / "layout-1.nc").read_text("utf-8")


def test_the_depth_map_is_what_was_wanted(demo: Path) -> None:
    depth_um = 1e6 * np.load(demo / "runs" / "chamber" / "depth.npy")
    rows, columns = depth_um.shape
    middle = depth_um[rows // 3 : rows // 3 + 60, columns // 3 : columns // 3 + 60]
    assert float(np.median(middle)) == pytest.approx(DEPTH_UM, abs=WHOLE_PASSES_UM)


def test_another_depth_gives_another_number_of_passes(demo: Path, tmp_path: Path) -> None:
    drawing = tmp_path / "shallow.svg"
    text = (demo / "drawings" / "chamber.svg").read_text("utf-8")
    drawing.write_text(text.replace('"100"', '"40"').replace('"120"', '"48"'), "utf-8")
    passes = {}
    for path in (demo / "drawings" / "chamber.svg", drawing):
        done = farface("part", path, "--bench", demo, *SETTING, "--json")
        assert done.returncode == 0, done.stderr
        told = json.loads(done.stdout)
        assert told["data"]["cleared"] is None
        passes[path.stem] = told["data"]["passes"]
    assert passes["shallow"] < 0.7 * passes["chamber"]


def test_only_a_confirmed_plan_reaches_a_machine(demo: Path, tmp_path: Path) -> None:
    drawing = tmp_path / "square.svg"
    drawing.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="4mm" height="4mm" viewBox="0 0 4 4">'
        '<rect id="square" x="1" y="1" width="2" height="2" data-depth-um="30"/></svg>'
    )
    assert farface("part", drawing, "--bench", demo).returncode == 0
    folder = demo / "runs" / "square"
    assert not list(folder.glob("*.nc"))
    said = refused(farface("part", drawing, "--bench", demo, *SETTING, "--confirm", "A", "--risk", "0"))
    assert "piercing" in said
    assert not list(folder.glob("*.nc"))


def test_ctrl_c_leaves_a_journal_that_opens(demo: Path) -> None:
    """Interrupted while it fits: exit code 130, a sentence, and every record that was there before."""
    with Journal.open(demo / "journal.sqlite") as journal:
        before = len(journal.all())
    working = subprocess.Popen(
        [*RUN, "learn", "--bench", str(demo)], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )
    time.sleep(4.0)
    working.send_signal(signal.SIGINT)
    _, said = working.communicate(timeout=60)
    assert working.returncode == 130
    assert "stopped" in said
    with Journal.open(demo / "journal.sqlite") as journal:
        assert len(journal.all()) == before
