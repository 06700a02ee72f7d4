"""Write docs/licences.md, the licences of all that farface brings along: ``python -m checks.licences``."""

import re
import sys
import tomllib
from collections.abc import Iterator
from importlib.metadata import Distribution, PackageNotFoundError, distribution

from checks.tree import ROOT

PAGE = ROOT / "docs" / "licences.md"
HEAD = """\
# Licences

farface is under the MIT licence. Installing it brings the packages below, each under its own; the list
follows the dependencies of farface and theirs, as their metadata tell, and `python -m checks.licences` writes
it. None of them is changed. The page script htmx, under the Zero-Clause BSD licence, is shipped inside.

| package | licence | needed by |
|---|---|---|
"""
UNKNOWN = "not told"
_NAME = re.compile(r"[A-Za-z0-9._-]+")


def licence(found: Distribution) -> str:
    """Read what a package says of its licence: the expression, else the classifiers, else a short text."""
    told = found.metadata
    # Not by index: where the backport of importlib.metadata is loaded, that raises for what is not told.
    for expression in told.get_all("License-Expression") or ():
        return str(expression)
    prefix = "License :: "
    classes = [
        one.rpartition(" :: ")[2] for one in told.get_all("Classifier") or () if one.startswith(prefix)
    ]
    named = [one for one in classes if one != "OSI Approved"]
    if named:
        return ", ".join(named)
    text = next(iter(told.get_all("License") or ()), "").strip().partition("\n")[0]
    return text if 0 < len(text) < 60 else UNKNOWN


def requirements(found: Distribution) -> Iterator[str]:
    """Yield the names of what a package always needs: neither extras nor what other systems alone need."""
    for text in found.requires or ():
        name, _, marker = text.partition(";")
        match = _NAME.match(name)
        if (
            match
            and "extra" not in marker
            and not re.search(r"win32|Windows|emscripten|python_version *<", marker)
        ):
            yield match[0]


def own_requirements() -> list[str]:
    """Read what farface itself needs from pyproject.toml, which no stale installation can contradict."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    return [match[0] for text in project["dependencies"] if (match := _NAME.match(text))]


def brought() -> dict[str, tuple[str, str]]:
    """Follow the dependencies; give each package's licence and who needs it, by name."""
    found: dict[str, tuple[str, str]] = {}
    wanted = [(name, "farface") for name in own_requirements()]
    while wanted:
        name, by = wanted.pop(0)
        try:
            one = distribution(name)
        except PackageNotFoundError:
            continue
        called = str(one.metadata["Name"])
        if called not in found:
            found[called] = (licence(one), by)
            wanted += [(below, called) for below in requirements(one)]
    return dict(sorted(found.items(), key=lambda item: item[0].lower()))


def page_text() -> str:
    """Lay the list out as a page."""
    rows = (f"| {name} | {told.replace('|', '/')} | {by} |" for name, (told, by) in brought().items())
    return HEAD + "\n".join(rows) + "\n"


def main() -> None:
    """Write the page."""
    PAGE.write_text(page_text(), "utf-8")
    sys.stdout.write(f"wrote {PAGE.relative_to(ROOT)}\n")


if __name__ == "__main__":
    main()
