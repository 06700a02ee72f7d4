"""Hold the register of checks to the tests it lists, and its page to the command that writes it."""

import subprocess
import sys
from pathlib import Path

import pytest

from checks.observe import STATUSES
from checks.register import PAGE, all_checks, checks_of, listed, page_text, watched

ANEW = "run `python -m checks.register` to write docs/register.md anew"


def test_the_page_lists_every_marked_test() -> None:
    ours = {(one.status, one.file, one.words) for one in all_checks()}
    on_page = listed(PAGE.read_text("utf-8"))
    assert ours - on_page == set(), ANEW
    assert on_page - ours == set(), ANEW


def test_every_published_check_names_its_source() -> None:
    published = [one for one in all_checks() if one.status == "published"]
    assert len(published) > 20
    assert [one.key for one in published if not one.source.strip()] == []


def test_no_check_on_the_page_failed() -> None:
    results = [
        line.rsplit("|", 2)[1].split() for line in PAGE.read_text("utf-8").splitlines() if " passed |" in line
    ]
    assert len(results) > 100
    assert [words for words in results if words[0] != words[2]] == []


SAMPLE = '''"""Look at things [malitson1965]."""
import pytest

# Rayleigh prints 0.915.
@pytest.mark.published
@pytest.mark.parametrize("n", [1, 2])
def test_the_factor(n):
    assert 0.9147 * n == pytest.approx(0.915 * n, rel=1e-3)

@pytest.mark.exact
def test_a_lie():
    assert 1.0 == pytest.approx(2.0)
'''  # fmt: skip


def test_values_tolerances_and_results_come_from_a_run(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "tests").mkdir()
    (tmp_path / "tests" / "test_sample.py").write_text(SAMPLE)
    (tmp_path / "pytest.ini").write_text(
        "[pytest]\nmarkers =\n" + "".join(f"  {name}\n" for name in (*STATUSES, "slow", "browser"))
    )
    monkeypatch.setattr("checks.register.ROOT", tmp_path)
    checks = tuple(checks_of(tmp_path / "tests" / "test_sample.py"))
    page = page_text(checks, watched())
    assert "| the factor | 0.915 ± 0.0009; 1.83 ± 0.002 | Rayleigh prints 0.915. | 2 of 2 passed |" in page
    assert "| a lie | property | `malitson1965` | 0 of 1 passed |" in page
    assert {status for status, _, _ in listed(page)} == {"published", "exact"}


@pytest.mark.slow
def test_the_page_is_what_the_command_writes() -> None:
    before = PAGE.read_text("utf-8")
    try:
        subprocess.run([sys.executable, "-m", "checks.register"], check=True, cwd=PAGE.parents[1])
        assert PAGE.read_text("utf-8") == before, ANEW
    finally:
        PAGE.write_text(before, "utf-8")
