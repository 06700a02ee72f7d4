"""The comfort of the command line: help with examples, plain text, settings, logs, completion, exit codes."""

import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
import typer

from demo_bench import demo_bench
from farface.cli.main import app
from farface.cli.settings import read_settings
from farface.kernel import Malformed
from farface.safety.hazard_items import SHEETS
from test_cli import RUN, refused

ESCAPE = "\x1b"


def farface(*arguments: str | Path, **around: str) -> subprocess.CompletedProcess[str]:
    bare = {key: value for key, value in os.environ.items() if not key.startswith("FARFACE_")}
    return subprocess.run(
        [*RUN, *map(str, arguments)],
        capture_output=True,
        text=True,
        check=False,
        timeout=120,
        env=bare | around,
    )


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return demo_bench(tmp_path_factory.mktemp("comfort") / "bench").folder


def commands(command: typer.core.TyperGroup | None = None, before: str = "") -> Iterator[tuple[str, str]]:
    """Yield every command as it is typed, with its help."""
    for name, one in (command or typer.main.get_command(app)).commands.items():
        if hasattr(one, "commands"):
            yield from commands(one, f"{name} ")
        else:
            yield before + name, one.help or ""


@pytest.mark.parametrize(("name", "told"), list(commands()))
def test_every_command_shows_an_example_of_itself(name: str, told: str) -> None:
    assert f"Example: farface {name}" in told
    assert len(told.splitlines()[0]) > 20


def test_help_and_answers_are_plain_text_in_a_pipe(bench: Path) -> None:
    for around in ({}, {"NO_COLOR": "1"}, {"TERM": "dumb"}):
        for arguments in (("--help",), ("window", "--help"), ("bath", "--bench", bench)):
            assert ESCAPE not in farface(*arguments, **around).stdout


def test_rows_stay_on_one_line_in_a_pipe(bench: Path) -> None:
    plain = farface("bath", "--bench", bench).stdout
    assert any(line.startswith("absorption (natural)") and line.rstrip().endswith("bath.toml")
               for line in plain.splitlines())  # fmt: skip
    narrow = farface("bath", "--bench", bench, COLUMNS="40").stdout
    assert max(map(len, narrow.splitlines())) <= 40 < max(map(len, plain.splitlines()))


def test_a_terminal_that_lacks_signs_shows_others(bench: Path) -> None:
    done = farface("hazards", "--bench", bench, PYTHONIOENCODING="ascii", PYTHONUTF8="0")
    assert done.returncode == 0, done.stderr


def test_defaults_come_from_file_environment_and_line_in_that_order(bench: Path, tmp_path: Path) -> None:
    settings = tmp_path / "settings.toml"
    settings.write_text(f'bench = "{bench.as_posix()}"\n[rig]\nenergy = "123 uJ"\n')
    assert "At 123 uJ" in farface("rig", FARFACE_SETTINGS=str(settings)).stdout
    assert "At 123 uJ" in farface("--settings", settings, "rig").stdout
    assert "At 234 uJ" in farface("--settings", settings, "rig", "--energy", "234 uJ").stdout
    elsewhere = {"FARFACE_BENCH": str(tmp_path / "nowhere"), "FARFACE_SETTINGS": str(settings)}
    assert "nowhere" in refused(farface("rig", **elsewhere))
    assert "At 123 uJ" in farface("rig", "--bench", bench, **elsewhere).stdout


def test_a_bench_is_meant_from_where_the_settings_lie(tmp_path: Path) -> None:
    settings = tmp_path / "settings.toml"
    settings.write_text('bench = "inner"\n[journal.log]\nlast = 5\n')
    read = read_settings(settings, typer.main.get_command(app).commands)
    assert read["rig"] == {"bench": str((tmp_path / "inner").resolve())}
    assert read["journal"]["log"] == {"bench": str((tmp_path / "inner").resolve()), "last": 5}


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("energy = ", "no settings file"),
        ("[window]\nenrgy = '1 uJ'\n", '"enrgy" is nothing that window takes'),
        ("[windows]\nenergy = '1 uJ'\n", '"windows" is nothing that farface takes'),
        ("colour = 1\n", '"colour" is nothing that any command takes'),
        ("[journal.log]\nfirst = 1\n", '"first" is nothing that journal.log takes'),
    ],
)
def test_a_fault_in_the_settings_is_named(tmp_path: Path, text: str, says: str) -> None:
    (tmp_path / "settings.toml").write_text(text)
    with pytest.raises(Malformed, match=says):
        read_settings(tmp_path / "settings.toml", typer.main.get_command(app).commands)


def test_settings_that_are_not_there_are_refused(tmp_path: Path) -> None:
    assert "there is no settings file" in refused(farface("--settings", tmp_path / "none.toml", "bath"))


def test_logs_go_to_standard_error_and_only_when_asked(bench: Path) -> None:
    assert farface("bath", "--bench", bench).stderr == ""
    done = farface("-v", "bath", "--bench", bench, "--json")
    assert "wrote record" in done.stderr
    assert done.stdout.startswith("{")


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_completion_is_offered(shell: str) -> None:
    shown = farface(_FARFACE_COMPLETE=f"source_{shell}")
    assert "_FARFACE_COMPLETE" in shown.stdout
    assert "Usage" not in shown.stdout


def test_completion_knows_commands_and_sheets() -> None:
    def completed(line: str) -> str:
        words = line.split()
        return farface(
            _FARFACE_COMPLETE="complete_bash", COMP_WORDS=line, COMP_CWORD=str(len(words) - 1)
        ).stdout

    assert completed("farface win").split() == ["window"]
    assert set(SHEETS) == {*completed("farface tick r").split(), *completed("farface tick s").split(),
                           *completed("farface tick c").split()}  # fmt: skip


def test_exit_codes_are_those_that_help_tells(bench: Path) -> None:
    told = " ".join(farface("--help").stdout.split())
    assert "0 done; 1 a check found faults" in told
    assert farface("--version").returncode == 0
    assert farface("journal", "check", "--bench", bench).returncode == 0
    assert farface("nonsense").returncode == 2
    assert farface("rig", "--bench", bench, "--rate", "1 Hz").returncode == 2


def test_a_reader_that_leaves_early_is_no_fault(bench: Path) -> None:
    command = [*RUN, "journal", "log", "--bench", str(bench)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) as running:
        assert running.stdout is not None and running.stderr is not None
        running.stdout.close()
        assert "Traceback" not in running.stderr.read()
    assert sys.executable in command
