"""Hold the benchmark command to its table, its JSON and its judgement; nothing is timed here."""

import json
import re
from pathlib import Path

import pytest

from benchmarks import __main__ as command
from benchmarks.row import Goal, row


@pytest.mark.parametrize(
    ("sense", "ratio", "met"), [("at least", 12.0, True), ("at least", 11.9, False), ("at most", 12.1, False)]
)
def test_a_goal_is_judged(sense: Goal, ratio: float, met: bool) -> None:
    measured = row(name="heat", value=1.0, unit="s", peer="splu", ratio=ratio, goal=(sense, 12.0))
    assert measured.met is met
    assert measured.goal == f"{sense} 12"


@pytest.fixture
def two(monkeypatch: pytest.MonkeyPatch) -> None:
    fast = row(name="fast", value=2.5, unit="ms", peer="slow twin", ratio=40.0, goal=("at least", 10))
    slow = row(name="slow", value=9.0, unit="s", ratio=9.0, goal=("at most", 1))
    monkeypatch.setattr(command, "BENCHMARKS", {"fast": lambda: fast, "slow": lambda: slow})


@pytest.mark.usefixtures("two")
def test_the_table_shows_every_row_and_a_missed_goal_fails(capsys: pytest.CaptureFixture[str]) -> None:
    assert command.main([]) == 1
    headings, *lines = capsys.readouterr().out.splitlines()
    assert headings.split() == list(command.HEADINGS)
    assert [line.split()[-1] for line in lines] == ["yes", "no"]


@pytest.mark.usefixtures("two")
def test_one_name_as_json(capsys: pytest.CaptureFixture[str]) -> None:
    assert command.main(["fast", "--json"]) == 0
    (only,) = json.loads(capsys.readouterr().out)
    assert only["name"] == "fast"
    assert set(only) == set(command.HEADINGS)


def test_an_unknown_name_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as left:
        command.main(["no_such_thing"])
    assert left.value.code == 2
    assert "no such benchmark" in capsys.readouterr().err


@pytest.mark.usefixtures("two")
def test_the_page_is_written_by_the_command(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(command, "PAGE", tmp_path / "benchmarks.md")
    command.main(["fast", "--page"])
    page = (tmp_path / "benchmarks.md").read_text()
    assert "| fast | 2.5 | ms | slow twin | 40 | at least 10 | yes |" in page
    assert re.search(r"Measured on: \d+ cores .* GB/s", page)
    assert "Not in this run: slow." in page


def test_the_page_in_the_manual_holds_what_the_command_knows() -> None:
    page = command.PAGE.read_text()
    assert page.startswith(command.PAGE_HEAD)
    rows = [line.split(" | ") for line in page.splitlines() if line.startswith("| ")][2:]
    assert rows
    assert {row[0].removeprefix("| ") for row in rows} <= set(command.BENCHMARKS)
    assert all(len(row) == len(command.HEADINGS) for row in rows)
