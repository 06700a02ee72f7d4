"""Hold README and pages to what they say: commands, links, anchors, examples, words."""

import re
import sys
import tomllib
from collections.abc import Callable
from importlib.util import find_spec
from pathlib import Path
from xml.etree import ElementTree

import pytest

from checks.pages import anchors, blocks, broken_links, pages
from checks.tree import PACKAGE, ROOT

README = (ROOT / "README.md").read_text("utf-8")
GLOSSARY = (ROOT / "docs" / "glossary.md").read_text("utf-8")
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))
LOOP = "bench rig bath window coupon outcome footage learn next part sheet journal"


def _parts_of_command(number: int) -> list[str]:
    """Split one of the README's two commands at its ``&&``."""
    return blocks(README)[number].text.split(" && ")


Ask = Callable[[str], str]


@pytest.fixture
def ask(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Ask:
    """Ask the command line to explain one of its commands, and give what it says."""
    from farface.cli.main import run

    def explain(name: str) -> str:
        monkeypatch.setattr(sys, "argv", ["farface", name, "--help"])
        with pytest.raises(SystemExit) as left:
            run()
        assert not left.value.code, name
        return capsys.readouterr().out

    return explain


def test_the_first_paragraph_is_the_job() -> None:
    title, job, *_ = README.split("\n\n")
    assert title == "# farface"
    assert all(word in job for word in ("glass", "bath", "laser", "far", "drawing"))


def test_readme_holds_exactly_two_commands_of_one_line() -> None:
    assert [len(block.text.splitlines()) for block in blocks(README)] == [1, 1]


@pytest.mark.parametrize(("number", "folder"), [(0, ".venv"), (1, ".venv-test")])
def test_each_command_sets_up_what_it_then_runs(number: int, folder: str) -> None:
    make, install, run = _parts_of_command(number)
    assert make == f"python3 -m venv {folder}"
    assert install.startswith(f"{folder}/bin/python -m pip install ")
    assert run.startswith(f"{folder}/bin/")


def test_the_demo_command_exists(ask: Ask) -> None:
    called = _parts_of_command(0)[2].removeprefix(".venv/bin/").split()
    assert called[0] in PROJECT["project"]["scripts"]
    assert "folder" in ask("demo").lower()


def test_the_test_command_exists() -> None:
    install, run = _parts_of_command(1)[1:]
    extra = re.search(r"\.\[(\w+)\]", install)
    assert extra is not None
    assert extra[1] in PROJECT["project"]["optional-dependencies"]
    assert run.endswith("python -m checks")
    assert find_spec("checks.__main__") is not None


def test_every_command_of_the_readme_exists(ask: Ask) -> None:
    named = re.findall(r"^\| `farface (\w+)` \|", README, flags=re.MULTILINE)
    assert len(named) > 5
    assert [name for name in named if f"farface {name}" not in ask(name)] == []


def test_ci_runs_the_command_of_the_readme() -> None:
    script = (ROOT / ".ci" / "run").read_text("utf-8")
    pattern = re.search(r"grep -E '([^']+)' README\.md", script)
    assert pattern is not None
    assert re.findall(pattern[1], README, flags=re.MULTILINE) == [blocks(README)[1].text]
    assert " -m checks" not in re.sub(r"grep .*", "", script), "CI must not have a command of its own"


@pytest.mark.parametrize("page", pages(), ids=lambda page: page.name)
def test_every_link_leads_somewhere(page: Path) -> None:
    assert list(broken_links(page)) == []


def test_broken_links_are_seen(tmp_path: Path) -> None:
    (tmp_path / "b.md").write_text("# A word, or two\n", "utf-8")
    page = tmp_path / "a.md"
    targets = ("b.md", "b.md#a-word-or-two", "https://example.org/", "c.md", "b.md#none", "d.png", "#me")
    page.write_text(" ".join(f"[x]({target})" for target in targets) + "\n```\n# me\n```\n", "utf-8")
    assert [fault.split()[1] for fault in broken_links(page)] == ["c.md", "b.md#none", "d.png", "#me"]


@pytest.mark.parametrize("page", pages(), ids=lambda page: page.name)
def test_every_picture_on_a_page_is_told_in_words(page: Path) -> None:
    told = re.findall(r"!\[([^\]]*)\]", page.read_text("utf-8"))
    assert all(len(words.split()) > 3 for words in told)


def test_anchors_are_made_from_headings() -> None:
    assert anchors("# Loop & layers\n## `rig`: read it #\n") == {"loop--layers", "rig-read-it"}


def test_every_page_is_reached_from_the_index() -> None:
    index = (ROOT / "docs" / "index.md").read_text("utf-8")
    below = [page.relative_to(ROOT / "docs").as_posix() for page in pages() if page.parent != ROOT]
    assert [name for name in below if name != "index.md" and f"({name})" not in index] == []


EXAMPLES = [
    pytest.param(block.text, id=f"{page.name}-{number}")
    for page in pages()
    for number, block in enumerate(blocks(page.read_text("utf-8")))
    if block.language == "python"
]


@pytest.mark.parametrize("example", EXAMPLES)
def test_examples_run(example: str) -> None:
    exec(compile(example, "example", "exec"), {"__name__": "example"})


@pytest.mark.parametrize("word", LOOP.split())
def test_the_glossary_explains_the_words_of_the_loop(word: str) -> None:
    loop = GLOSSARY.partition("## The loop")[2].partition("\n## ")[0]
    assert re.search(rf"^\| {word} \| \w", loop, flags=re.MULTILINE)


@pytest.mark.parametrize("layer", sorted(path.parent.name for path in PACKAGE.glob("*/__init__.py")))
def test_the_architecture_page_names_every_layer(layer: str) -> None:
    assert f"`{layer}`" in (ROOT / "docs" / "architecture.md").read_text("utf-8")


@pytest.mark.parametrize(
    "marker", [text.partition(":")[0] for text in PROJECT["tool"]["pytest"]["ini_options"]["markers"]]
)
def test_the_checks_page_explains_every_marker(marker: str) -> None:
    assert f"| `{marker}` |" in (ROOT / "docs" / "checks.md").read_text("utf-8")


@pytest.mark.parametrize(
    "picture", sorted((ROOT / "docs" / "pictures").glob("*.svg")), ids=lambda path: path.name
)
def test_every_drawn_picture_says_in_words_what_it_shows(picture: Path) -> None:
    root = ElementTree.parse(picture).getroot()
    said = {part.get("id"): part.text or "" for part in root if part.tag.endswith(("}title", "}desc"))}
    assert root.get("role") == "img"
    named = (root.get(name) or "" for name in ("aria-labelledby", "aria-describedby"))
    assert set(" ".join(named).split()) == said.keys()
    assert all(len(text.split()) > 2 for text in said.values())
