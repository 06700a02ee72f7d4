"""Hold the one command that checks everything to its promises."""

import subprocess
import sys

import pytest

from checks.__main__ import Step, run_all, steps
from checks.tree import ROOT

PASSING = ("-c", "print('all well', flush=True)")
FAILING = ("-c", "print('not well', flush=True); raise SystemExit(3)")
NO_TESTS = ("-m", "pytest", "-q", "-k", "no_test_has_this_name", "tests/test_checks.py")


def _steps(*arguments: tuple[str, ...]) -> list[Step]:
    return [Step(name=f"step {number}", arguments=each) for number, each in enumerate(arguments, start=1)]


def test_all_well(capfd: pytest.CaptureFixture[str]) -> None:
    assert run_all(_steps(PASSING, PASSING)) == 0
    assert capfd.readouterr().out.splitlines()[-1] == "all well"


@pytest.mark.parametrize("early", [True, False])
def test_a_failure_anywhere_fails_but_stops_nothing(early: bool, capfd: pytest.CaptureFixture[str]) -> None:
    order = (FAILING, PASSING) if early else (PASSING, FAILING)
    assert run_all(_steps(*order)) == 1
    said = capfd.readouterr().out
    assert "all well" in said
    assert ("Failed so far: step 1." in said) == early


def test_an_empty_suite_fails() -> None:
    assert run_all(_steps(PASSING, NO_TESTS)) == 1


def test_the_tests_come_last_and_quick_leaves_some_out() -> None:
    assert [step.name for step in steps(quick=False)] == ["format", "lint", "types", "layers", "tests"]
    assert "not slow and not browser" in steps(quick=True)[-1].arguments
    assert "-m" not in steps(quick=False)[-1].arguments[2:]


def test_the_command_explains_itself() -> None:
    shown = subprocess.run(
        [sys.executable, "-m", "checks", "--help"], cwd=ROOT, capture_output=True, text=True, check=True
    )
    assert "--quick" in shown.stdout
