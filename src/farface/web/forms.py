"""Read a form with the parsers of the command line, and keep their sentence by the field."""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Annotated, TypeVar

from fastapi import Depends, Request

from farface.kernel import FarfaceError, Malformed

ValueT = TypeVar("ValueT")

_BARE_NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?")
_WHOLE_NUMBER = re.compile(r"[+-]?\d{1,9}")
MOST_FIELDS = 2000


@dataclass(slots=True, kw_only=True)
class Form:
    """Hold the texts of a form and, after reading, the sentence that belongs beside each field.

    The key "" holds what concerns the form as a whole.
    """

    texts: Mapping[str, str]
    errors: dict[str, str] = field(default_factory=dict)

    def text(self, name: str) -> str:
        """Give what was typed into a field, without blanks at its ends."""
        return self.texts.get(name, "").strip()

    def read(self, name: str, reader: Callable[[str], ValueT]) -> ValueT | None:
        """Read a field; a refusal is kept beside it and gives None."""
        try:
            return reader(self.text(name))
        except FarfaceError as error:
            self.errors[name] = str(error)
            return None

    @property
    def good(self) -> bool:
        """Tell whether everything read so far was understood."""
        return not self.errors


def with_unit(text: str, unit: str) -> str:
    """Add the unit that stands beside the field to a number typed without one."""
    return f"{text} {unit}".strip() if _BARE_NUMBER.fullmatch(text.strip()) else text


def whole_number(text: str | None, *, what: str) -> int | None:
    """Read a whole number; an empty text gives None. Raises `Malformed` for anything else."""
    if text is None or not text.strip():
        return None
    if not _WHOLE_NUMBER.fullmatch(text.strip()):
        raise Malformed(f'{what} is "{text}", which is no whole number. Write digits only, such as 8.')
    return int(text)


async def _typed_form(request: Request) -> Form:
    sent = await request.form(max_files=0, max_fields=MOST_FIELDS)
    return Form(texts={name: value for name, value in sent.items() if isinstance(value, str)})


# What was sent with a change, as texts.
Sent = Annotated[Form, Depends(_typed_form)]
