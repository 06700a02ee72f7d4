"""Check the journal's commands as a person types them."""

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from demo_bench import demo_bench
from farface.cli.main import app
from farface.kernel import Malformed, Missing
from test_journal_exchange import TABLE


@pytest.fixture
def bench(tmp_path: Path) -> Path:
    return demo_bench(tmp_path / "bench").folder


def _typed(*arguments: str | Path, code: int = 0) -> Result:
    done = CliRunner().invoke(app, [*map(str, arguments)], env={"COLUMNS": "200"})
    assert done.exit_code == code, (done.output, done.exception)
    return done


def _told(*arguments: str | Path) -> dict[str, object]:
    data = json.loads(_typed(*arguments, "--json").output)["data"]
    assert isinstance(data, dict)
    return data


def test_type_correct_compare_undo_and_take_along(bench: Path, tmp_path: Path) -> None:
    on = ("--bench", bench)
    table = tmp_path / "P1.csv"
    table.write_text(TABLE)
    _typed("outcomes", table, *on)
    table.write_text(TABLE.replace("steady", "runaway"))
    _typed("outcomes", table, *on, "--corrects", "1", "--why", "misread A1")
    assert "superseded by 2" in _typed("journal", "log", *on).output
    assert "Supersedes record 1: misread A1" in _typed("journal", "show", "2", *on).output
    assert "runaway" in _typed("journal", "diff", "2", *on).output
    _typed("journal", "undo", "2", "--why", "it was right", *on)
    assert [one["state"] for one in _told("journal", "log", *on)["records"]] == [  # type: ignore[attr-defined]
        "superseded by 2",
        "superseded by 3",
        "stands",
    ]
    assert "P1.csv" in _typed("journal", "log", "--files", *on).output
    _typed("journal", "check", *on)
    archive, new = tmp_path / "bench.zip", tmp_path / "new"
    _typed("journal", "export", archive, *on, "--kind", "outcomes")
    assert _told("journal", "import", archive, "--bench", new)["added"] == 3
    assert _told("journal", "check", "--bench", new)["faults"] == []


def test_rerun_and_rescue(bench: Path) -> None:
    on = ("--bench", bench)
    _typed("window", "--prior", *on)
    assert "came out the same" in _typed("journal", "rerun", "1", *on).output
    assert _told("journal", "rescue", *on)["lost"] == []
    assert _told("journal", "log", *on)["total"] == 1


def test_what_cannot_be_done_is_said_in_a_sentence(bench: Path, tmp_path: Path) -> None:
    on = ("--bench", bench)
    for arguments, kind, words in (
        (("show", "7", *on), Missing, "has no record 7"),
        (("import", tmp_path / "none.zip", "--bench", tmp_path / "new"), Missing, "There is no file"),
        (("check", "--bench", tmp_path), Malformed, "is no bench"),
    ):
        done = CliRunner().invoke(app, ["journal", *map(str, arguments)])
        assert isinstance(done.exception, kind)
        assert words in str(done.exception)
