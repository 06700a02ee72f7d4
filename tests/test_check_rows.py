"""Follow the manual's table from the rows of the list of check values to the tests that hold them."""

import re
from pathlib import Path

HERE = Path(__file__).parent
PAGE = (HERE.parent / "docs" / "checks.md").read_text("utf-8")
ROWS = [line.split("|")[1:4] for line in PAGE.splitlines() if re.match(r"\| \d", line)]


def test_every_row_of_the_list_is_accounted_for_once() -> None:
    numbers = [int(number) for row, _, _ in ROWS for number in row.split(",")]
    assert sorted(numbers) == list(range(1, 67))


def test_every_test_that_is_named_exists() -> None:
    for row, _, tests in ROWS:
        named = re.findall(r"`(test_\w+\.py)::(test_\w+)`", tests)
        assert named or "none:" in tests, row
        for file, name in named:
            assert f"def {name}(" in (HERE / file).read_text("utf-8"), f"row {row}: {file}::{name}"
