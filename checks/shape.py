"""Ask for small modules and functions, plain names, and docstrings that start with a verb."""

import ast
import re
from collections.abc import Iterator

from checks.tree import MODELS, Module, functions

MODULE_LINES = 300
FUNCTION_LINES = 40
DRAWERS = frozenset({"util", "utils", "helper", "helpers", "common", "misc"})

# Grammar needs more than a list; these are the words that open a docstring which names instead of says.
_NOT_A_VERB = re.compile(
    r"the|an?|this|that|these|those|it|its|we|you|one|two|all|each|every|any|some|no|if|when|where|for|of|in"
    r"|on|at|to|from|with|by|as|and|or|but|not|function|class|method|module|wrapper|simple|main",
    re.IGNORECASE,
)


def drawer_names(module: Module) -> Iterator[str]:
    """Name a module or folder that is called by no idea of its own."""
    for part in module.path.parts:
        if part.removesuffix(".py").strip("_") in DRAWERS:
            yield f"{module.path}: '{part}' names no idea; name it by what it does"


def missing_module_docstring(module: Module) -> Iterator[str]:
    """Name a module whose first line does not say its idea."""
    if not ast.get_docstring(module.tree):
        yield f"{module.path}:1: no docstring that says the module's one idea"


def long_modules(module: Module) -> Iterator[str]:
    """Name a module of more than 300 lines."""
    lines = len(module.text.splitlines())
    if lines > MODULE_LINES:
        yield f"{module.path}: {lines} lines; look again at {MODULE_LINES}"


def long_functions(module: Module) -> Iterator[str]:
    """Name every function whose body, docstring aside, has more than 40 lines."""
    for name, node in functions(module.tree):
        body = node.body[1:] if ast.get_docstring(node) and len(node.body) > 1 else node.body
        lines = (body[-1].end_lineno or 0) - body[0].lineno + 1
        if lines > FUNCTION_LINES:
            yield f"{module.path}:{name}: a body of {lines} lines; aim under 25, at most {FUNCTION_LINES}"


def docstrings_without_verb(module: Module) -> Iterator[str]:
    """Name every function or class whose docstring does not open with a capital word that may be a verb.

    A list of words that are surely none stands in for grammar: articles, pronouns, prepositions.
    """
    for node in ast.walk(module.tree):
        if not isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef):
            continue
        docstring = ast.get_docstring(node)
        word = re.match(r"[A-Z][a-z]+(?=[\s,:;.])", docstring or "")
        if docstring and (word is None or _NOT_A_VERB.fullmatch(word[0])):
            yield f"{module.path}:{node.lineno}: the docstring of {node.name} does not start with a verb"


def wildcard_imports(module: Module) -> Iterator[str]:
    """Name every ``from … import *``."""
    for node in ast.walk(module.tree):
        if isinstance(node, ast.ImportFrom) and any(alias.name == "*" for alias in node.names):
            yield f"{module.path}:{node.lineno}: a star import hides where names come from"


def loose_dataclasses(module: Module) -> Iterator[str]:
    """Name every public dataclass of a model that is not frozen, slotted and keyword-only."""
    for node in module.tree.body if module.layer in MODELS else ():
        if not isinstance(node, ast.ClassDef) or node.name.startswith("_"):
            continue
        for decorator in map(ast.unparse, node.decorator_list):
            wanted = ("frozen=True", "slots=True", "kw_only=True")
            if "dataclass" in decorator and not all(word in decorator for word in wanted):
                yield f"{module.path}:{node.lineno}: {node.name} is not frozen, slotted and keyword-only"
