"""Hold what is released to itself: one version everywhere, every licence told, the manual in the wheel."""

import re
import tomllib

import pytest

import farface
from checks.licences import PAGE, UNKNOWN, own_requirements, page_text
from checks.tree import ROOT

PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))


def test_the_version_is_the_same_everywhere() -> None:
    cited = re.search(r"^version: (.+)$", (ROOT / "CITATION.cff").read_text("utf-8"), flags=re.MULTILINE)
    assert cited
    assert {farface.__version__, PROJECT["project"]["version"], cited[1]} == {farface.__version__}
    assert f"## {farface.__version__}" in (ROOT / "CHANGELOG.md").read_text("utf-8")


def test_every_dependency_is_on_the_page_of_licences() -> None:
    listed = {
        line.split(" | ")[0].removeprefix("| ").lower() for line in PAGE.read_text("utf-8").splitlines()
    }
    assert [name for name in own_requirements() if name.lower() not in listed] == []


@pytest.mark.parametrize("anew", [False, True])
def test_every_licence_is_told(anew: bool) -> None:
    text = page_text() if anew else PAGE.read_text("utf-8")
    assert UNKNOWN not in text
    assert text.startswith("# Licences")


def test_the_wheel_takes_the_manual_along() -> None:
    wheel = PROJECT["tool"]["hatch"]["build"]["targets"]["wheel"]
    assert wheel["artifacts"] == ["src/farface/manual"]
    assert (ROOT / wheel["hooks"]["custom"]["path"]).is_file()
    assert any(text.startswith("mkdocs") for text in PROJECT["build-system"]["requires"])
