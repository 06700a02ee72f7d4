"""Write the lines of a commented TOML file."""

import json
from collections.abc import Collection

from farface.files.known_text import write_known, write_quantity
from farface.files.tables import Entry
from farface.records import Known

_COMMENT_COLUMN = 44


def heading(name: str) -> list[str]:
    """Begin a table, after an empty line."""
    return ["", f"[{name}]"]


def line(key: str, value: str, comment: str = "") -> str:
    """Write a key with its value in TOML, and a comment in a column of its own."""
    text = f"{key} = {value}"
    return f"{text:<{_COMMENT_COLUMN}} # {comment}" if comment else text


def quantity_lines(entries: Collection[Entry], record: object) -> list[str]:
    """Write the quantities that a record holds under the names of their entries."""
    return [quantity_line(entry, getattr(record, entry.field)) for entry in entries]


def quantity_line(entry: Entry, value: float) -> str:
    """Write one exact quantity; a number without dimension stands without quotes."""
    text = write_quantity(value, entry.dimension, entry.unit)
    return line(entry.key, text if entry.dimension == "1" else toml_string(text), entry.about)


def known_line(entry: Entry, known: Known) -> str:
    """Write one quantity with its uncertainty and provenance."""
    return line(entry.key, toml_string(write_known(known, entry.dimension, entry.unit)), entry.about)


def toml_string(text: str) -> str:
    """Quote a text; JSON quotes as TOML does, but for the one character DEL."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")
