"""Read the settings file: a person's own defaults for the options of every command.

Keys at its top hold for every command that has such an option; a table named as a command holds for that
command alone. What is typed stands above the environment, the environment above the file.
"""

import tomllib
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any, Final

import typer

from farface.kernel import Malformed, Missing

NAME: Final = "settings.toml"


def settings_path(given: Path | None) -> Path | None:
    """Find the file: as given, else where this system keeps a person's settings; None where there is none."""
    if given is not None:
        if not given.is_file():
            raise Missing(f"there is no settings file {given}. Name one that is there, or leave it out.")
        return given
    usual = Path(typer.get_app_dir("farface")) / NAME
    return usual if usual.is_file() else None


def read_settings(path: Path, commands: Mapping[str, Any]) -> dict[str, Any]:
    """Read defaults by command, as the command line takes them; raises `Malformed` naming the key at fault.

    ``commands`` maps each name to the command, and for a group to what is below it.
    """
    try:
        told = tomllib.loads(path.read_text("utf-8"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError, OSError) as error:
        raise Malformed(f"{path} is no settings file that can be read ({error}). Correct it.") from error
    shared = {key: value for key, value in told.items() if not isinstance(value, dict)}
    known = {name for command in commands.values() for name in _options(command)}
    _check(path, "any command", shared, known)
    tables = {key: value for key, value in told.items() if isinstance(value, dict)}
    _check(path, "farface", tables, set(commands))
    return {name: _defaults(path, name, one, shared, tables.get(name, {})) for name, one in commands.items()}


def _defaults(
    path: Path, name: str, command: Any, shared: Mapping[str, Any], own: Mapping[str, Any]
) -> dict[str, Any]:
    below = getattr(command, "commands", None)
    if below is not None:
        _check(path, name, own, set(below))
        return {
            inner: _defaults(path, f"{name}.{inner}", one, shared, own.get(inner, {}))
            for inner, one in below.items()
        }
    options = _options(command)
    _check(path, name, own, set(options))
    given = {**{key: value for key, value in shared.items() if key in options}, **own}
    return {options[key]: _resolved(path, key, value) for key, value in given.items()}


def _resolved(path: Path, key: str, value: Any) -> Any:
    """Take a bench's folder from where the file lies, so that the same file holds wherever one stands."""
    return str((path.parent / value).resolve()) if key == "bench" and isinstance(value, str) else value


def _options(command: Any) -> dict[str, str]:
    """Map each option as it is typed, without its dashes, to the parameter behind it."""
    return dict(_pairs(command))


def _pairs(command: Any) -> Iterator[tuple[str, str]]:
    for inner in getattr(command, "commands", {}).values():
        yield from _pairs(inner)
    for parameter in command.params:
        for text in parameter.opts:
            if text.startswith("--") and text != "--help":
                yield text[2:], parameter.name


def _check(path: Path, where: str, given: Mapping[str, Any], known: set[str]) -> None:
    for key in given:
        if key not in known:
            raise Malformed(
                f'{path}: "{key}" is nothing that {where} takes. Use one of: {", ".join(sorted(known))}.'
            )
