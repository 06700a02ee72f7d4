"""Read the tables of a TOML file key by key, with a sentence for everything that does not fit."""

import difflib
import tomllib
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TypeVar

from farface.files.known_text import read_known, read_quantity
from farface.kernel import Malformed, Missing, OutOfRange
from farface.records import Known

WordT = TypeVar("WordT", bound=str)


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """Describe one key that holds a quantity.

    ``field`` is its name in the record, ``unit`` the one it is written in; ``low`` and ``high`` bound what
    is read, and ``why`` says on what grounds. ``about`` is the comment beside the key in a written file.
    """

    key: str
    field: str
    dimension: str
    unit: str
    low: str
    high: str
    why: str
    about: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """Hold one table as it was read, and where it stands."""

    file: str
    name: str
    values: Mapping[str, object]

    def __contains__(self, key: str) -> bool:
        return key in self.values

    def where(self, key: str) -> str:
        """Name a key as sentences name it."""
        return f"{self.file}, [{self.name}] {key}"

    def text(self, key: str) -> str:
        """Read a text that is not empty."""
        value = self._value(key)
        if not isinstance(value, str) or not value.strip():
            raise Malformed(f"{self.where(key)} is {_shown(value)}. Write a text in quotes.")
        return value

    def choice(self, key: str, allowed: Collection[WordT]) -> WordT:
        """Read a text that is one of ``allowed``."""
        value = self.text(key)
        for word in allowed:
            if word == value:
                return word
        hint = _nearest(value, allowed)
        raise Malformed(f'{self.where(key)} is "{value}", but must be one of {_listed(allowed)}.{hint}')

    def flag(self, key: str) -> bool:
        """Read true or false; a key that is absent is false."""
        value = self.values.get(key, False)
        if not isinstance(value, bool):
            raise Malformed(f"{self.where(key)} is {_shown(value)}. Write true or false, without quotes.")
        return value

    def count(self, key: str, *, low: int, high: int) -> int:
        """Read a whole number between ``low`` and ``high``."""
        value = self._value(key)
        if isinstance(value, bool) or not isinstance(value, int):
            raise Malformed(
                f"{self.where(key)} is {_shown(value)}. Write a whole number, without quotes and unit."
            )
        if not low <= value <= high:
            raise OutOfRange(
                f"{self.where(key)} is {value}, but must lie between {low} and {high}. Correct it."
            )
        return value

    def quantity(self, entry: Entry) -> float:
        """Read a quantity without an uncertainty, in SI."""
        text = self._quantity_text(entry)
        return self._within(entry, text, read_quantity(text, entry.dimension, what=self.where(entry.key)))

    def known(self, entry: Entry) -> Known:
        """Read a quantity with its uncertainty and provenance, in SI."""
        text = self._quantity_text(entry)
        known = read_known(text, entry.dimension, what=self.where(entry.key))
        self._within(entry, text, known.value)
        return known

    def quantities(self, entries: Collection[Entry]) -> dict[str, float]:
        """Read several quantities, by the names that they bear in the record."""
        return {entry.field: self.quantity(entry) for entry in entries}

    def _value(self, key: str) -> object:
        if key not in self.values:
            raise Missing(f"{self.file} lacks {key} in [{self.name}]. Add the line {key} = ...")
        return self.values[key]

    def _quantity_text(self, entry: Entry) -> str:
        value = self._value(entry.key)
        plain = isinstance(value, int | float) and not isinstance(value, bool)
        if entry.dimension == "1" and plain:
            return repr(value)
        if isinstance(value, str):
            return value
        shown = _shown(value)
        raise Malformed(
            f'{self.where(entry.key)} is {shown}, without a unit. Write it in quotes, such as "{entry.low}".'
        )

    def _within(self, entry: Entry, text: str, value: float) -> float:
        low, high = (read_quantity(bound, entry.dimension, what="") for bound in (entry.low, entry.high))
        if low <= value <= high:
            return value
        raise OutOfRange(
            f'{self.where(entry.key)} is "{text}", but must lie between {entry.low} and {entry.high}: '
            f"{entry.why}. Correct it."
        )


def read_tables(path: Path, layout: Mapping[str, Collection[str]]) -> dict[str, Table]:
    """Read a TOML file whose tables and keys all stand in ``layout``; an absent table is absent here too.

    Raises `Missing` when there is no such file and `Malformed`, naming file and place, for anything that
    is no TOML or that ``layout`` does not know.
    """
    file = path.name
    tables: dict[str, Table] = {}
    for name, values in _parse(path).items():
        if name not in layout:
            known = [key for keys in layout.values() for key in keys]
            hint = _nearest(name, layout) or _home_of(name, layout) or _nearest(name, known)
            raise Malformed(f"{file} has {name}, which is none of its tables: {_listed(layout)}.{hint}")
        if not isinstance(values, dict):
            raise Malformed(
                f"{file} gives {name} a value, but it is a table. Write [{name}] and its keys below."
            )
        for key in values:
            if key not in layout[name]:
                hint = _nearest(key, layout[name]) or _home_of(key, layout)
                raise Malformed(
                    f"{file}, [{name}] has the unknown key {key}; known are {_listed(layout[name])}.{hint}"
                )
        tables[name] = Table(file=file, name=name, values=values)
    return tables


def needed(tables: Mapping[str, Table], name: str, *, file: str) -> Table:
    """Give a table that must be there; raises `Missing` when it is not."""
    if name not in tables:
        raise Missing(f"{file} lacks the table [{name}]. Add it; the page on file formats lists its keys.")
    return tables[name]


def _parse(path: Path) -> dict[str, object]:
    """Read the bytes as TOML."""
    try:
        return tomllib.loads(path.read_bytes().decode("utf-8-sig"))
    except FileNotFoundError as error:
        raise Missing(f"There is no file {path}. Write one, or name the right folder.") from error
    except OSError as error:
        raise Malformed(f"{path} cannot be read: {error.strerror}. Name a file that you may read.") from error
    except UnicodeDecodeError as error:
        raise Malformed(f"{path.name} is no text in UTF-8. Save it as UTF-8.") from error
    except tomllib.TOMLDecodeError as error:
        raise Malformed(f"{path.name} is no TOML: {error}. Correct that place.") from error


def _home_of(key: str, layout: Mapping[str, Collection[str]]) -> str:
    """Say in which other table a key belongs."""
    homes = [f"[{name}]" for name, keys in layout.items() if key in keys]
    return f" It belongs in {' or '.join(homes)}." if homes else ""


def _nearest(word: str, allowed: Collection[str]) -> str:
    """Suggest the nearest allowed word."""
    close = difflib.get_close_matches(word, list(allowed), n=1)
    return f" Did you mean {close[0]}?" if close else ""


def _listed(words: Collection[str]) -> str:
    return ", ".join(words)


def _shown(value: object) -> str:
    """Show a value as the person wrote it, or nearly."""
    if isinstance(value, bool):
        return str(value).lower()
    return f'"{value}"' if isinstance(value, str) else str(value)
