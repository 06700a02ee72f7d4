"""Say what is wrong with the data of an SVG path; the SVG library stops reading there without a word."""

import re
from typing import Final

# Numbers after each command; an arc's flags may stand without space, so its numbers are not counted.
_NUMBERS: Final = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "A": 1, "Z": 0}
_COMMAND: Final = re.compile(r"([MLHVCSQTAZ])", re.IGNORECASE)
_NUMBER: Final = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?")


def path_fault(data: str) -> str | None:
    """Return a few words on the first fault, or None; numbers are not read, only counted."""
    before, *pieces = _COMMAND.split(data)
    if before.strip():
        return f'its data begin with "{before.strip()[:20]}"'
    if pieces and pieces[0] not in "Mm":
        return "its data do not begin with a move"
    for command, arguments in zip(pieces[::2], pieces[1::2], strict=True):
        each = _NUMBERS[command.upper()]
        count = len(_NUMBER.findall(arguments))
        strange = _NUMBER.sub(" ", arguments).strip(" ,\t\r\n")
        if strange or (count % each or not count if each else count):
            return f'its data have "{(command + arguments)[:20].strip()}"'
    return None
