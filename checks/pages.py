"""Read the project's Markdown pages: their fenced blocks, their links, and what the links should meet."""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from checks.tree import ROOT

_FENCE = re.compile(r"^```(\w*)\n(.*?)^```\s*$", re.MULTILINE | re.DOTALL)
_LINK = re.compile(r"!?\[[^\]]*\]\(([^)\s]+)\)")
_HEADING = re.compile(r"^#{1,6} +(.+?) *#*$", re.MULTILINE)


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """Hold one fenced block of a page: the language it names, and its text."""

    language: str
    text: str


def pages(root: Path = ROOT) -> list[Path]:
    """List the project's pages: those in its root and below ``docs``."""
    return [*sorted(root.glob("*.md")), *sorted((root / "docs").rglob("*.md"))]


def blocks(text: str) -> list[Block]:
    """Read the fenced blocks of a page in their order."""
    return [Block(language=language, text=body.strip()) for language, body in _FENCE.findall(text)]


def anchors(text: str) -> set[str]:
    """Give the anchors of a page's headings, as they are commonly made from the words.

    Lower case, spaces to hyphens, everything dropped that is neither letter, digit, hyphen nor underscore.
    """
    headings = _HEADING.findall(_FENCE.sub("", text))
    return {re.sub(r"[^\w\- ]", "", heading.lower()).replace(" ", "-") for heading in headings}


def broken_links(page: Path) -> Iterator[str]:
    """Name every link of a page that leads to no file or no heading; other sites are not asked."""
    text = page.read_text("utf-8")
    for target in _LINK.findall(_FENCE.sub("", text)):
        path, _, anchor = target.partition("#")
        if re.match(r"[a-z]+:", target):
            continue
        met = page.parent / path if path else page
        if not met.exists():
            yield f"{page.name}: {target} leads to no file"
        elif anchor and anchor not in anchors(met.read_text("utf-8")):
            yield f"{page.name}: {target} leads to no heading"
