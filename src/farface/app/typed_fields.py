"""Describe the fields of a form for a TOML file of the bench, and read them as that file is read."""

import re
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, replace
from typing import Final, TypeVar

from farface.files.known_text import HOWS, write_quantity
from farface.files.tables import Entry, Table
from farface.kernel import UNITS, FarfaceError
from farface.records import Known

# The ends of the names under which a value's uncertainty and provenance are typed.
SD: Final = "-sd"
HOW: Final = "-how"
_TAIL: Final = 9
_LONG: Final = 9
_NUMBER: Final = r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?"
_BARE = re.compile(rf"\s*{_NUMBER}\s*")
_PLACES: Final = (
    re.compile(r"\[(?P<table>\w+)\] (?P<key>\w+) "),
    re.compile(r"lacks (?P<key>\w+) in \[(?P<table>\w+)\]"),
)

ReadT = TypeVar("ReadT")


@dataclass(frozen=True, slots=True, kw_only=True)
class Field:
    """Hold one field as a form shows it: ``text`` in ``unit``, which is added to a bare number.

    A value that carries an uncertainty has ``sd`` and ``how`` too; ``choices`` make a list to choose from.
    """

    name: str
    label: str
    text: str
    unit: str = ""
    about: str = ""
    sd: str | None = None
    how: str = ""
    choices: tuple[tuple[str, str], ...] = ()
    ticked: bool | None = None
    whole: bool = False
    example: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Hold the fields of one table of the file; an ``optional`` one may be left empty as a whole."""

    name: str
    heading: str
    fields: tuple[Field, ...]
    optional: bool = False


def quantity_field(table: str, entry: Entry, value: float | None) -> Field:
    """Make the field of a plain quantity."""
    text = "" if value is None else _shortest(value, entry)
    return Field(
        name=f"{table}-{entry.key}",
        label=entry.key.replace("_", " "),
        text=text,
        unit=entry.unit,
        about=_about(entry),
    )


def _shortest(value: float, entry: Entry) -> str:
    """Write a value in the entry's unit, or, where that takes a tail of digits, in one that does not."""
    usual = _without_unit(write_quantity(value, entry.dimension, entry.unit), entry.unit)
    others = (write_quantity(value, entry.dimension, unit) for unit in UNITS[entry.dimension])
    return usual if len(usual) <= _TAIL else min((usual, *others), key=len)


def known_field(table: str, entry: Entry, known: Known | None) -> Field:
    """Make the field of a value with its uncertainty."""
    made = quantity_field(table, entry, None if known is None else known.value)
    sd = ""
    if known is not None and known.sd:
        sd = _without_unit(write_quantity(known.sd, entry.dimension, entry.unit), entry.unit)
    how = "stated" if known is None else known.how
    return Field(
        name=made.name, label=made.label, text=made.text, unit=made.unit, about=made.about, sd=sd, how=how
    )


def with_unit(text: str, unit: str) -> str:
    """Add the unit that stands beside the field to a number typed without one."""
    return f"{text.strip()} {unit}".strip() if _BARE.fullmatch(text) else text.strip()


def read_typed(
    texts: Mapping[str, str],
    groups: Collection[Group],
    reader: Callable[[Mapping[str, Table]], ReadT],
    *,
    file: str,
) -> tuple[ReadT | None, dict[str, str]]:
    """Read what was typed as the file itself is read; give the result and a sentence for each wrong field.

    For a field that is refused the value that stands in the file is taken, so that the others still show what
    they do; the key "" holds what concerns no single field, and then there is no result.
    """
    errors: dict[str, str] = {}
    typed = dict(texts)
    while True:
        try:
            return reader(typed_tables(typed, groups, file=file)), errors
        except FarfaceError as error:
            field = _named(str(error), groups)
            if field is None or field.name in errors:
                return None, errors | {"": str(error)}
            errors[field.name] = str(error)
            typed.update(field_texts(field))


def typed_tables(texts: Mapping[str, str], groups: Collection[Group], *, file: str) -> dict[str, Table]:
    """Put the tables of a file together from what was typed; empty optional ones are left out."""
    tables: dict[str, Table] = {}
    for group in groups:
        given = {field.name: typed_value(texts, field) for field in group.fields}
        if group.optional and not any(given.values()):
            continue
        values = {name.removeprefix(f"{group.name}-"): value for name, value in given.items() if value != ""}
        before = tables[group.name].values if group.name in tables else {}
        tables[group.name] = Table(file=file, name=group.name, values={**before, **values})
    return tables


def typed_value(texts: Mapping[str, str], field: Field) -> object:
    """Put together what the file would hold for a field: its text, with unit, uncertainty, provenance."""
    if field.ticked is not None:
        return texts.get(field.name, "") == "yes"
    typed = texts.get(field.name, "").strip()
    if field.whole:
        return int(typed) if typed.isdecimal() and len(typed) < _LONG else typed
    text = with_unit(typed, field.unit)
    if field.sd is None or not text:
        return text
    sd, how = with_unit(texts.get(field.name + SD, ""), field.unit), texts.get(field.name + HOW, "stated")
    return " ".join([text, *(["+/-", sd] if sd else []), *([how] if how in HOWS and how != "stated" else [])])


def emptied(groups: Collection[Group]) -> tuple[Group, ...]:
    """Take every value out and leave it as an example, for a file that is not there yet."""
    return tuple(replace(group, fields=tuple(_empty(field) for field in group.fields)) for group in groups)


def _empty(field: Field) -> Field:
    if field.ticked is not None:
        return replace(field, ticked=False)
    if field.choices:
        return field
    return replace(field, text="", example=field.text, sd=None if field.sd is None else "")


def field_texts(field: Field) -> dict[str, str]:
    """Give what a form sends for a field that is left as it is."""
    if field.ticked is not None:
        return {field.name: "yes" if field.ticked else ""}
    texts = {field.name: field.text}
    return texts if field.sd is None else texts | {field.name + SD: field.sd, field.name + HOW: field.how}


def group_texts(groups: Collection[Group]) -> dict[str, str]:
    """Give what a form sends that is left as it is."""
    return {
        name: text for group in groups for field in group.fields for name, text in field_texts(field).items()
    }


def _named(sentence: str, groups: Collection[Group]) -> Field | None:
    """Find the field that a sentence names, as "[laser] wavelength" or "lacks wavelength in [laser]"."""
    by_name = {field.name: field for group in groups for field in group.fields}
    for pattern in _PLACES:
        if found := pattern.search(sentence):
            field = by_name.get(f"{found['table']}-{found['key']}")
            if field is not None:
                return field
    return None


def _without_unit(text: str, unit: str) -> str:
    return text.removesuffix(f" {unit}") if unit else text


def _about(entry: Entry) -> str:
    span = f"{entry.low} to {entry.high}"
    return f"{entry.about}; {span}" if entry.about else span
