"""List every published source that code and data rest on."""

import tomllib
from functools import cache
from importlib.resources import files

from farface.app.answer import Answer, plain
from farface.report.content import Source


def all_sources() -> tuple[Source, ...]:
    """Read the sources, in the order of their keys."""
    listed = tomllib.loads(files("farface").joinpath("sources.toml").read_text("utf-8"))
    return tuple(
        Source(key=key, text=listed[key]["text"], status=listed[key]["status"]) for key in sorted(listed)
    )


@cache
def source_keys() -> frozenset[str]:
    """Give the key of every source."""
    return frozenset(source.key for source in all_sources())


def look_at_sources() -> Answer:
    """Show what stands behind the numbers."""
    found = all_sources()
    return Answer(
        title="Sources",
        sentences=(
            f"{len(found)} published sources stand behind the numbers; what has none is called common "
            "practice.",
        ),
        data={"sources": plain(found)},
    )
