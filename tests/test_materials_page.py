"""Hold the page on adding a glass to what the reader does."""

import re
import tomllib
from pathlib import Path

from farface.materials.dispersion import FORMULAS
from farface.materials.reader import read_glass
from farface.materials.schema import GlassFile

PAGE = (Path(__file__).parents[1] / "docs" / "materials.md").read_text("utf-8")
EXAMPLE = re.findall(r"^```toml\n(.*?)^```", PAGE, flags=re.MULTILINE | re.DOTALL)[0]


def test_the_example_is_a_glass_that_meets_its_own_checks() -> None:
    record = read_glass("example", EXAMPLE)
    for check in GlassFile.model_validate(tomllib.loads(EXAMPLE)).checks:
        answer = getattr(record, check.quantity)(check.wavelength_m)
        assert f"{answer:.{len(check.printed.partition('.')[2])}f}" == check.printed


def test_the_example_shows_every_key_of_a_glass() -> None:
    given = set(tomllib.loads(EXAMPLE))
    assert given == set(GlassFile.model_fields)


def test_the_page_lists_every_formula() -> None:
    rows = re.findall(r"^\| `([a-z_]+)` \| n", PAGE, flags=re.MULTILINE)
    assert rows == list(FORMULAS)
