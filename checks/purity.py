"""Ask that models only compute, that only commands print, and that no path of a machine shows."""

import ast
import re
from collections.abc import Iterator

from checks.tree import MODELS, Module

OUTSIDE = frozenset({"logging", "random", "secrets", "time", "warnings"}) | frozenset(
    {"os", "pathlib", "shutil", "sqlite3", "subprocess", "tempfile"}
)
FILE_CALLS = frozenset({"open", "read_text", "write_text", "read_bytes", "write_bytes", "savetxt", "loadtxt"})
CLOCK_CALLS = frozenset({"datetime.now", "datetime.utcnow", "datetime.today", "date.today"})

# Absolute folders of one machine, split here so that this file does not name one.
_MACHINE_PATH = re.compile(
    r"(?<![\w./])(?:/(?:" + "|".join(("work", "home", "root", "Users")) + r")/|[A-Z]:\\\\?Users)"
)


def impure_models(module: Module) -> Iterator[str]:
    """Name every clock, file, log or hidden random number in a model."""
    if module.layer not in MODELS:
        return
    for node in ast.walk(module.tree):
        for what in _reaches_outside(node):
            yield f"{module.path}:{getattr(node, 'lineno', 0)}: a model may not use {what}"


def prints(module: Module) -> Iterator[str]:
    """Name every print outside the command line."""
    for node in ast.walk(module.tree):
        if module.layer != "cli" and isinstance(node, ast.Call) and ast.unparse(node.func) == "print":
            yield f"{module.path}:{node.lineno}: only commands print"


def machine_paths(name: str, text: str) -> Iterator[str]:
    """Name every line of a file that holds an absolute folder of somebody's machine."""
    for number, line in enumerate(text.splitlines(), start=1):
        if found := _MACHINE_PATH.search(line):
            yield f"{name}:{number}: {found[0]} is a folder of one machine"


def _reaches_outside(node: ast.AST) -> Iterator[str]:
    """Yield what one node of a syntax tree reaches for beyond its arguments."""
    match node:
        case ast.Import(names=names):
            yield from (alias.name for alias in names if alias.name.split(".")[0] in OUTSIDE)
        case ast.ImportFrom(module=str(source)) if source.split(".")[0] in OUTSIDE:
            yield source
        case ast.Call(func=func):
            called = ast.unparse(func)
            if called.rpartition(".")[2] in FILE_CALLS or called in CLOCK_CALLS:
                yield f"{called}()"
            if re.match(r"(np|numpy)\.random\.[a-z]", called):
                yield f"{called}(): pass a numpy.random.Generator"
