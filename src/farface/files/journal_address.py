"""Keep the address of a bench's journal, where that is not in its own folder."""

import tomllib
from pathlib import Path

from farface.files.atomic import write_atomically
from farface.files.toml_text import toml_string
from farface.kernel import Malformed


def read_address(path: Path) -> str | None:
    """Read where the journal of a bench is kept; None where it lies in the bench itself."""
    try:
        address = tomllib.loads(path.read_text("utf-8")).get("address")
    except FileNotFoundError:
        return None
    except (OSError, ValueError) as error:
        raise Malformed(f"{path} cannot be read: {error}. Put back a copy of it.") from error
    if not isinstance(address, str):
        raise Malformed(f'{path} names no address. Write address = "postgresql+psycopg://…" there.')
    return address


def write_address(path: Path, address: str) -> None:
    """Write where the journal of a bench is kept; a password has no place in it."""
    text = "# Where this bench's journal is kept; the password is asked of the system, never kept here.\n"
    write_atomically(path, f"{text}address = {toml_string(address)}\n".encode())
