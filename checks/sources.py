"""Compare the keys of published sources that code and data use with those that `sources.toml` holds."""

import ast
import io
import re
import tokenize
import tomllib
from collections.abc import Collection, Iterator, Mapping
from pathlib import Path
from typing import Any

from checks.tree import PACKAGE, Module

SOURCES = PACKAGE / "sources.toml"
STATUSES = frozenset({"read", "exact", "memory"})

# "[malitson1965]" or "[malitson1965, atomic_masses]" in a docstring; "x[i10]" is an index.
_CITED = re.compile(r"(?<![\w\])`])\[([a-z]\w+(?:[,;]\s+[a-z]\w+)*)\]")
_WITH_YEAR = re.compile(r"[a-z][a-z_]*\d{2,4}[a-z]?")


def known_sources(path: Path = SOURCES) -> dict[str, dict[str, Any]]:
    """Read every source that the project rests on, by its key."""
    return tomllib.loads(path.read_text("utf-8"))


def keys_of_words(module: Module, known: Collection[str]) -> Iterator[str]:
    """Yield the keys cited in brackets in the texts and comments of a module.

    A word in brackets is one when it is known or ends in a year; others, as in an interval, are not.
    """
    for cited in _CITED.findall("\n".join((*_texts(module), *_comments(module)))):
        words = re.split(r"[,;]\s+", cited)
        yield from (word for word in words if word in known or _WITH_YEAR.fullmatch(word))


def _texts(module: Module) -> Iterator[str]:
    for node in ast.walk(module.tree):
        match node:
            case ast.Constant(value=str(text)):
                yield text


def _comments(module: Module) -> Iterator[str]:
    for token in tokenize.generate_tokens(io.StringIO(module.text).readline):
        if token.type == tokenize.COMMENT:
            yield token.string


def keys_of_code(module: Module) -> Iterator[str]:
    """Yield the keys that code passes on as ``source="…"``."""
    for node in ast.walk(module.tree):
        match node:
            case ast.keyword(arg="source", value=ast.Constant(value=str(key))):
                yield key


def keys_of_data(data: Mapping[str, Any]) -> Iterator[str]:
    """Yield the keys that stand under ``source`` or ``sources`` anywhere in a table of data."""
    for name, value in data.items():
        if name in ("source", "sources"):
            yield from [value] if isinstance(value, str) else value
        for inner in value if isinstance(value, list) else [value]:
            if isinstance(inner, Mapping):
                yield from keys_of_data(inner)


def faulty_entries(sources: Mapping[str, Mapping[str, Any]]) -> Iterator[str]:
    """Name every source without a text, or whose status is none of read, exact, memory."""
    for key, entry in sources.items():
        if not str(entry.get("text", "")).strip():
            yield f"{key}: no text"
        if entry.get("status") not in STATUSES:
            yield f"{key}: status is {entry.get('status')!r}, not one of {', '.join(sorted(STATUSES))}"
