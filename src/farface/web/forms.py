"""Read a form with the parsers of the command line, and keep their sentence by the field."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Annotated, TypeVar

from fastapi import Depends, Request

from farface.app.settings import whole_number
from farface.kernel import FarfaceError, Malformed

__all__ = ["Form", "Sent", "whole_number"]

ValueT = TypeVar("ValueT")

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


def count_of(text: str, *, what: str, least: int, most: int) -> int:
    """Read a whole number within bounds. Raises `Malformed` for anything else."""
    found = whole_number(text, what=f"the number of {what}")
    if found is None or not least <= found <= most:
        raise Malformed(
            f'the number of {what} is "{text}"; it must be {least} to {most}. Give such a number.'
        )
    return found


async def _typed_form(request: Request) -> Form:
    sent = await request.form(max_files=0, max_fields=MOST_FIELDS)
    return Form(texts={name: value for name, value in sent.items() if isinstance(value, str)})


# What was sent with a change, as texts.
Sent = Annotated[Form, Depends(_typed_form)]
