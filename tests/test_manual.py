"""Hold the manual to what it says: every command runs, every link leads somewhere, nothing is fetched."""

import csv
import re
import shlex
import shutil
import subprocess
import sys
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import unquote

import pytest
import typer
from typer.testing import CliRunner

from checks.pages import blocks, pages
from checks.tree import ROOT
from farface.app.manual import find_in_manual, manual_page
from farface.cli.main import app
from farface.kernel import Missing
from manual.__main__ import build_manual
from manual.hooks import anchor, nav
from manual.pictures import draw_pictures

TOUR = [ROOT / "docs" / "tutorial.md", *sorted((ROOT / "docs" / "how-to").glob("*.md"))]
STEP = re.compile(
    r"^```sh\n(?P<run>.*?)^```|as `(?P<file>[^`]+)`:\n\n```svg\n(?P<text>.*?)^```"
    r"|^<!-- in tests: (?P<do>[^\n]+) -->",
    re.MULTILINE | re.DOTALL,
)
SPOKEN = re.compile(r"`farface ([^`\n]+)`")
# Proper names and words that the list of common misspellings takes for others.
NAMES = "fro,linz,ue"


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return build_manual(tmp_path_factory.mktemp("manual") / "site").parent


class _Page(HTMLParser):
    """Gather what a page names: its anchors, its links, and what it would load."""

    def __init__(self, path: Path) -> None:
        super().__init__()
        self.anchors: set[str] = set()
        self.links: list[str] = []
        self.loads: list[str] = []
        self.feed(path.read_text("utf-8"))

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        for name, value in attrs:
            if name == "id":
                self.anchors.add(str(value))
            elif name == "href" and tag == "a":
                self.links.append(str(value))
            elif name in ("src", "href", "srcset", "action", "data", "style"):
                self.loads.append(str(value))


def test_every_link_and_anchor_of_the_built_manual_leads_somewhere(site: Path) -> None:
    read = {path.resolve(): _Page(path) for path in site.rglob("*.html")}
    assert len(read) > 25
    broken = []
    for path, page in read.items():
        for link in (*page.links, *page.loads):
            target, _, name = unquote(link).partition("#")
            if re.match(r"(https?|mailto):", target):
                continue
            met = (path.parent / target).resolve() if target else path
            if not met.is_file() or (name and name not in read[met].anchors):
                broken.append(f"{path.name}: {link}")
    assert broken == []


def test_nothing_is_fetched_from_outside(site: Path) -> None:
    for path in site.rglob("*.html"):
        assert not [load for load in _Page(path).loads if ":" in load], path.name
        assert "<script" not in path.read_text("utf-8")
    for path in site.rglob("*.css"):
        assert "url(" not in path.read_text("utf-8")
        assert "@import" not in path.read_text("utf-8")


def test_sections_come_from_the_index() -> None:
    index = "# Manual\n\n## Start\n\n- [One](a.md): words\n- [Two](../README.md)\n\n## Empty\n\nwords\n"
    assert nav(index) == [{"Contents": "index.md"}, {"Start": [{"One": "a.md"}, {"Two": "overview.md"}]}]
    assert anchor("The loop & its `layers`", "-") == "the-loop--its-layers"


def test_words_are_found_and_a_missing_manual_is_told(site: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("farface.app.manual.files", lambda _: site.parent / "nowhere")
    with pytest.raises(Missing, match="python -m manual"):
        manual_page()
    package = site.parent / "package"
    shutil.copytree(site, package / "manual")
    monkeypatch.setattr("farface.app.manual.files", lambda _: package)
    found = find_in_manual(("Mix", "bath")).data["sections"]
    assert found[0]["section"] == "Mix the bath"
    assert found[0]["at"] == "how-to/mix-the-bath.html#mix-the-bath"
    assert find_in_manual(("xyzzy",)).data["sections"] == []


def _typed_in_pages() -> Iterator[tuple[str, str]]:
    for page in pages():
        text = page.read_text("utf-8")
        lines = [line for block in blocks(text) for line in block.text.splitlines()]
        for typed in (*SPOKEN.findall(text), *(one[8:] for one in lines if one.startswith("farface "))):
            yield page.name, typed


def test_every_command_on_every_page_exists_with_its_options() -> None:
    wrong, seen = [], 0
    for page, text in _typed_in_pages():
        command: object = typer.main.get_command(app)
        words = re.findall(r'"[^"]*"|[^\s"]+', text)
        options = set()
        for word in words:
            below = getattr(command, "commands", {})
            options |= {one for parameter in getattr(command, "params", ()) for one in parameter.opts}
            if word in below:
                command = below[word]
                seen += 1
            elif word.startswith("--"):
                options |= {one for parameter in getattr(command, "params", ()) for one in parameter.opts}
                if word not in options | {"--help"}:
                    wrong.append(f"{page}: farface {text}: {word}")
            elif below and word.islower() and word.isalpha():
                wrong.append(f"{page}: farface {text}: {word}")
    assert seen > 100
    assert wrong == []


def test_words_are_spelt_right() -> None:
    checked = [
        ROOT / name for name in ("README.md", "CONTRIBUTING.md", "CHANGELOG.md", "docs", "src", "manual")
    ]
    skipped = "*.svg,*.png,*.js,*.map,*.ipynb,*.html,sources.toml"
    done = subprocess.run(
        [sys.executable, "-m", "codespell_lib", "--ignore-words-list", NAMES, "--skip", skipped, *checked],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert (done.stdout, done.stderr, done.returncode) == ("", "", 0)


def test_a_misspelling_is_seen(tmp_path: Path) -> None:
    (tmp_path / "page.md").write_text("The thicknes of the plate.\n")
    command = [sys.executable, "-m", "codespell_lib", str(tmp_path)]
    assert subprocess.run(command, capture_output=True, check=False).returncode != 0


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Play the tutorial, which makes the demo bench; the how-to pages start from there."""
    folder = tmp_path_factory.mktemp("tour")
    _follow(TOUR[0], folder)
    return folder / "counting-chamber"


@pytest.mark.slow
def test_the_tutorial_leads_from_nothing_to_a_cleared_part(demo: Path) -> None:
    assert list((demo / "runs" / "chamber").glob("*.nc"))
    assert (demo.parent / "counting-chamber.zip").is_file()
    assert (demo.parent / "mine" / "journal.sqlite").is_file()


@pytest.mark.slow
@pytest.mark.parametrize("page", TOUR[1:], ids=lambda path: path.stem)
def test_every_step_of_a_how_to_page_runs(demo: Path, tmp_path: Path, page: Path) -> None:
    bench = tmp_path / "bench"
    shutil.copytree(demo, bench)
    _follow(page, bench)


@pytest.mark.slow
def test_the_pictures_of_the_tutorial_are_those_that_the_script_draws(tmp_path: Path) -> None:
    drawn = {path.name for path in draw_pictures(tmp_path)}
    named = set(re.findall(r"pictures/tutorial/([\w.-]+)\)", TOUR[0].read_text("utf-8")))
    kept = {path.name for path in (ROOT / "docs" / "pictures" / "tutorial").iterdir()}
    assert drawn == named == kept


def _follow(page: Path, folder: Path) -> None:
    """Do what a page says, from a folder on: run its commands, save its drawings, fill in its tables."""
    here = folder
    for step in STEP.finditer(page.read_text("utf-8")):
        if step["file"]:
            (here / step["file"]).write_text(step["text"])
        elif step["do"]:
            _prepared(here, step["do"])
        for line in (step["run"] or "").splitlines():
            here = _run(line, here)


def _run(line: str, here: Path) -> Path:
    name, *arguments = shlex.split(line)
    match name:
        case "cd":
            return (here / arguments[0]).resolve()
        case "mkdir":
            (here / arguments[0]).mkdir()
        case "cp":
            shutil.copy(here / arguments[0], here / arguments[1])
        case "farface":
            with pytest.MonkeyPatch.context() as patch:
                patch.chdir(here)
                done = CliRunner().invoke(app, arguments, prog_name="farface")
            assert done.exit_code == 0, f"{line}: {done.output} {done.exception!r}"
        case _:
            raise AssertionError(f"no reader can be asked to type {line!r}")
    return here


def _prepared(here: Path, what: str) -> None:
    """Do what a person does between two commands."""
    if found := re.fullmatch(r"fill (\S+)", what):
        _fill(here / found[1])
        return
    found = re.fullmatch(r"thickness of rig.toml is (.+ mm)", what)
    assert found, what
    rig = here / "rig.toml"
    rig.write_text(re.sub(r'thickness = "[\d.]+ mm', f'thickness = "{found[1]}', rig.read_text()))


def _fill(table: Path) -> None:
    """Write what a cell shows: of a ladder the middle rungs mark, of a coupon the gentle cells do nothing."""
    with table.open() as file:
        rows = list(csv.DictReader(file))
    for row in rows:
        offset_um, energy_uj = (float(row.get(name) or 0) for name in ("focus_offset_um", "pulse_energy_uJ"))
        gentle = abs(offset_um) > 300 or energy_uj < 100
        row["seen"] = "nothing" if gentle else "steady" if energy_uj < 350 else "runaway"
    with table.open("w") as file:
        written = csv.DictWriter(file, list(rows[0]))
        written.writeheader()
        written.writerows(rows)
