"""Find the manual that was installed with farface, and words in it."""

import re
from collections.abc import Iterator
from html import unescape
from importlib.resources import files
from pathlib import Path
from typing import Final

from farface.app.answer import Answer
from farface.kernel import Missing
from farface.report.content import Table

MOST_FOUND: Final = 30
_MAIN: Final = re.compile(r"<main.*?>(.*?)<footer", re.DOTALL)
_HEADING: Final = re.compile(r'<h[123] id="([^"]*)">(.*?)</h[123]>', re.DOTALL)
_TAG: Final = re.compile(r"<[^>]+>")


def manual_page() -> Path:
    """Give the first page of the manual; `Missing` where farface was installed without it."""
    page = Path(str(files("farface").joinpath("manual", "index.html")))
    if not page.is_file():
        raise Missing(
            "this farface runs from its source, where the manual is not built. Build it there with "
            "`python -m manual`, or read the pages in docs."
        )
    return page


def find_in_manual(words: tuple[str, ...]) -> Answer:
    """List the sections of the manual that hold all of the words, those with one in the heading first."""
    folder = manual_page().parent
    wanted = [word.lower() for word in words]
    found = [
        (title, heading, f"{page.relative_to(folder).as_posix()}#{anchor}")
        for page in sorted(folder.rglob("*.html"))
        for title, heading, anchor, text in _sections(page)
        if all(word in f"{heading} {text}".lower() for word in wanted)
    ]
    found.sort(key=lambda one: not any(word in one[1].lower() for word in wanted))
    rows = tuple(found[:MOST_FOUND])
    more = (f"The first {MOST_FOUND} are shown; give more words.",) if len(found) > MOST_FOUND else ()
    return Answer(
        title=f"Sections of the manual with {' '.join(words)}",
        sentences=(f"{len(found)} found below {folder}.", *more),
        tables=(Table(header=("page", "section", "at"), rows=rows),) if rows else (),
        data={"sections": [{"page": one[0], "section": one[1], "at": one[2]} for one in found]},
    )


def _sections(page: Path) -> Iterator[tuple[str, str, str, str]]:
    """Yield the page's title, then heading, anchor and plain text of each of its sections."""
    main = _MAIN.search(page.read_text("utf-8"))
    _, *parts = _HEADING.split(main[1] if main else "")
    title = _plain(parts[1]) if parts else page.stem
    for at in range(0, len(parts), 3):
        yield title, _plain(parts[at + 1]), parts[at], _plain(parts[at + 2])


def _plain(text: str) -> str:
    return " ".join(unescape(_TAG.sub(" ", text)).split())
