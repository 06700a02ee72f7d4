"""Write docs/register.md, a list of every outside check: ``python -m checks.register``.

It runs the tests that a status marks, all but the slow ones, and takes expected values, tolerances and
results from that run; sources and words come from the tests' own text.
"""

import ast
import json
import os
import re
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from checks.observe import STATUSES, WRITTEN
from checks.sources import known_sources
from checks.tree import ROOT

PAGE = ROOT / "docs" / "register.md"
MEANING = {
    "published": "a printed number, within half its last digit unless the tolerance says otherwise",
    "exact": "a closed form, a conservation law, or a second implementation",
    "common_practice": "a fact of the trade that practitioners report, without a source",
    "from_memory": "a value or formula quoted from memory; no one has read the source for this project",
}
BESIDE = {
    "exact": "mathematics",
    "common_practice": "common practice, no source",
    "from_memory": "from memory",
}
HEAD = """\
Every test that holds farface to something outside of itself: what it expects, how near, on whose
authority, and how it went. `python -m checks.register` runs these tests and writes this page;
[Checks](checks.md) tells what the statuses mean. Nothing on it is typed by hand. Values are as the
test compares them, mostly in SI; *property* stands for a relation that holds for any input, or for
words that must be said."""
MOST_VALUES = 4
_RUN = ("-m", "pytest", "-q", "-p", "checks.observe", "-p", "no:cacheprovider")
_MARKED = f"({' or '.join(STATUSES)}) and not slow and not browser"


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """Hold one test function that compares with something outside, as its text tells."""

    file: str
    name: str
    status: str
    source: str

    @property
    def key(self) -> str:
        """Name it as pytest does, without its case."""
        return f"{self.file}::{self.name}"

    @property
    def words(self) -> str:
        """Say what is checked: the name of the test is a sentence."""
        return self.name.removeprefix("test_").replace("_", " ")


def checks_of(path: Path) -> Iterator[Check]:
    """Yield the marked tests of one file, with the source that their text names."""
    text = path.read_text("utf-8")
    lines, tree = text.splitlines(), ast.parse(text)
    about = (ast.get_docstring(tree) or "").partition("\n")[0].replace("|", "/")
    around = {"published": _keys(text) or about, "exact": _keys(about)}
    for node in tree.body:
        marks = _marks(node)
        if isinstance(node, ast.FunctionDef) and marks:
            status = next(name for name in STATUSES if name in marks)
            source = _source(node, lines) or around.get(status) or BESIDE.get(status, "")
            yield Check(file=path.relative_to(ROOT).as_posix(), name=node.name, status=status, source=source)


def _marks(node: ast.AST) -> set[str]:
    found = {n.attr for one in getattr(node, "decorator_list", ()) for n in ast.walk(one)
             if isinstance(n, ast.Attribute)}  # fmt: skip
    return found & set(STATUSES)


def _source(node: ast.FunctionDef, lines: list[str]) -> str:
    """Find the keys of sources around a test, or what its comment or docstring says."""
    first = min((one.lineno for one in node.decorator_list), default=node.lineno) - 1
    above = first
    while above > 0 and lines[above - 1].startswith("#"):
        above -= 1
    body = "\n".join(lines[above : node.end_lineno])
    keys = _keys(body)
    if keys:
        return keys
    comments = [line.lstrip("# ") for line in lines[above:first]]
    inline = [found[1] for line in lines[first : node.end_lineno] if (found := re.search(r"  # (.+)", line))]
    heading = next((line.strip("# -") for line in lines[first::-1] if line.startswith("# ---")), "")
    docstring = (ast.get_docstring(node) or "").partition("\n")[0]
    for said in (" ".join(comments), docstring, *inline, heading):
        if len(said) > 4 and not said.startswith(("fmt", "type:", "noqa", "---")):
            return said.replace("|", "/")
    return ""


def _keys(text: str) -> str:
    return ", ".join(f"`{key}`" for key in known_sources() if re.search(rf"\b{key}\b", text))


def all_checks() -> tuple[Check, ...]:
    """List every marked test of the suite."""
    return tuple(one for path in sorted((ROOT / "tests").glob("test_*.py")) for one in checks_of(path))


def watched() -> dict[str, Any]:
    """Run the marked tests and give what was seen of each case."""
    paths = os.pathsep.join([str(Path(__file__).parents[1]), os.environ.get("PYTHONPATH", "")])
    with tempfile.TemporaryDirectory() as folder:
        written = Path(folder) / "seen.json"
        around = os.environ | {WRITTEN: str(written), "CI": "true", "PYTHONPATH": paths}
        command = [sys.executable, *_RUN, "-m", _MARKED, "tests"]
        subprocess.run(command, cwd=ROOT, check=False, env=around, stdout=subprocess.DEVNULL)
        seen: dict[str, Any] = json.loads(written.read_text("utf-8"))
    return seen


def page_text(checks: tuple[Check, ...], seen: Mapping[str, Any]) -> str:
    """Lay the register out as a page, one table a status and file."""
    return "\n".join([*_head(checks, seen), *_tables(checks, seen)]) + "\n"


def _head(checks: tuple[Check, ...], seen: Mapping[str, Any]) -> Iterator[str]:
    yield "# Register of checks"
    yield ""
    yield HEAD
    yield ""
    yield "| status | what stands behind it | tests | cases |"
    yield "|---|---|---|---|"
    for status in STATUSES:
        ours = [one for one in checks if one.status == status]
        cases = sum(len(_cases(one, seen)) for one in ours)
        yield f"| {status.replace('_', ' ')} | {MEANING[status]} | {len(ours)} | {cases} |"
    yield ""


def _tables(checks: tuple[Check, ...], seen: Mapping[str, Any]) -> Iterator[str]:
    for status in STATUSES:
        yield f"## {status.replace('_', ' ').capitalize()}"
        yield ""
        for file in dict.fromkeys(one.file for one in checks if one.status == status):
            yield f"`{file}`"
            yield ""
            yield "| check | expected ± tolerance | from | result |"
            yield "|---|---|---|---|"
            for one in checks:
                if one.status == status and one.file == file:
                    yield f"| {one.words} | {_values(one, seen)} | {one.source} | {_result(one, seen)} |"
            yield ""


def _cases(one: Check, seen: Mapping[str, Any]) -> list[Any]:
    return [case for node, case in seen.items() if node.partition("[")[0] == one.key]


def _values(one: Check, seen: Mapping[str, Any]) -> str:
    every = list(dict.fromkeys(value for case in _cases(one, seen) for value in case["compared"]))
    more = f"; {len(every) - MOST_VALUES} more" if len(every) > MOST_VALUES else ""
    return "; ".join(every[:MOST_VALUES]) + more or "property"


def _result(one: Check, seen: Mapping[str, Any]) -> str:
    results = [case["result"] for case in _cases(one, seen)]
    if set(results) <= {"not run"}:
        return "slow: in the full run"
    return f"{results.count('passed')} of {len(results)} passed"


def listed(text: str) -> set[tuple[str, str, str]]:
    """Read back which checks a page lists: status, file, words."""
    found, status, file = set(), "", ""
    for line in text.splitlines():
        if line.startswith("## "):
            status = line[3:].lower().replace(" ", "_")
        elif line.startswith("`tests/"):
            file = line.strip("`")
        elif line.startswith("| ") and file and not line.startswith("| check |"):
            found.add((status, file, line.split(" | ")[0].removeprefix("| ")))
    return found


def main() -> None:
    """Run the tests and write the page."""
    seen = watched()
    if all(case["result"] == "not run" for case in seen.values()):
        sys.exit("no marked test ran, so the page was left as it was: run pytest to see what stops it")
    PAGE.write_text(page_text(all_checks(), seen), "utf-8")
    sys.stdout.write(f"wrote {PAGE.relative_to(ROOT)}\n")


if __name__ == "__main__":
    main()
