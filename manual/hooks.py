"""Fit the pages of the project into one manual: README, CONTRIBUTING and the rest become pages of it.

The order of the pages is that of docs/index.md, whose headings are the manual's sections.
"""

import re
from pathlib import Path
from posixpath import relpath
from typing import Any

from mkdocs.structure.files import File, Files

ROOT = Path(__file__).resolve().parent.parent
# Pages of the project's root, and what they are called in the manual.
BESIDE = {"README.md": "overview.md", "CONTRIBUTING.md": "contributing.md", "CHANGELOG.md": "changes.md"}
COPIED = {"LICENSE": "LICENSE.txt"}
_INLINE = re.compile(r"\[([^\]]+)\]\(([^)#\s]+\.md)\)")


def on_config(config: Any) -> Any:
    """Make anchors as GitHub does, so that the pages' links hold in both places."""
    config.mdx_configs["toc"] = {"slugify": anchor}
    config.nav = nav((ROOT / "docs" / "index.md").read_text("utf-8"))
    return config


def on_files(files: Files, config: Any) -> Files:
    """Add the pages of the project's root."""
    for name, called in (BESIDE | COPIED).items():
        files.append(File.generated(config, called, content=inside((ROOT / name).read_text("utf-8"))))
    return files


def on_page_markdown(markdown: str, page: Any, **_: Any) -> str:
    """Let links to the project's root lead to the pages made of it."""
    here = page.file.src_uri
    for name, called in (BESIDE | COPIED).items():
        up = "../" * (here.count("/") + 1)
        markdown = markdown.replace(f"]({up}{name}", f"]({relpath(called, here.rpartition('/')[0] or '.')}")
    return markdown


def inside(text: str) -> str:
    """Rewrite the links of a page of the root as they are among the pages of docs."""
    text = text.replace("](docs/", "](")
    for name, called in (BESIDE | COPIED).items():
        text = text.replace(f"]({name}", f"]({called}")
    return text


def nav(index: str) -> list[dict[str, Any]]:
    """Read sections and pages from the index: every link of a list under a heading is a page."""
    sections: list[dict[str, Any]] = [{"Contents": "index.md"}]
    pages: list[dict[str, str]] = []
    for line in index.splitlines():
        if line.startswith("## "):
            pages = []
            sections.append({line.removeprefix("## "): pages})
        elif line.startswith(("- ", "  ")):
            for title, target in _INLINE.findall(line):
                called = BESIDE.get(target.removeprefix("../"), target)
                pages.append({title[0].upper() + title[1:]: called})
    return [one for one in sections if next(iter(one.values()))]


def anchor(text: str, _: str) -> str:
    """Make an anchor of a heading: lower case, spaces to hyphens, signs dropped."""
    return re.sub(r"[^\w\- ]", "", text.lower()).replace(" ", "-")
