"""Ask that every public number with a dimension carries its unit at the end of its name."""

import ast
import re
from collections.abc import Iterator
from fnmatch import fnmatchcase
from pathlib import Path

from checks.tree import EDGES, ROOT, Function, Module

GLOSSARY = ROOT / "docs" / "glossary.md"
UNITLESS = ("Dimensionless names", "Names whose unit stands elsewhere")

SI = frozenset({"m", "s", "hz", "j", "w", "k", "pa", "kg", "mol", "rad", "sr", "px"})
TYPED = (
    frozenset({"nm", "um", "mm", "cm", "l", "ml", "deg", "mrad", "celsius"})
    | frozenset({"ns", "us", "ms", "min", "h", "khz", "mhz"})
    | frozenset({"nj", "uj", "mj", "mw", "kw", "g", "mg"})
)
COUNTED = frozenset({"pulse", "pass", "point", "cell", "line", "frame", "plate", "burst"})

# Text of an annotation that holds numbers which may have a dimension; counts (int) have none.
_NUMBER = re.compile(r"\b(float|float32|float64|floating|Known)\b")


def carries_unit(name: str, *, edge: bool = False) -> bool:
    """Tell whether a name ends in a unit: ``pitch_m``, ``fluence_j_per_m2``, ``removal_m_per_pulse``.

    At an ``edge`` the units that a person types count as well.
    """
    units = SI | TYPED if edge else SI
    words = [re.sub(r"(?<=[a-z])[234]$", "", word) for word in name.lower().split("_")]
    if len(words) > 3 and words[-2] == "per" and words[-1] in COUNTED:
        words = words[:-2]
    foreign = "per" in words and words[words.index("per") - 1] in TYPED - units
    return len(words) > 1 and words[-1] in units and not foreign


def unitless_names(glossary: Path = GLOSSARY) -> tuple[str, ...]:
    """Read the names and patterns that the glossary frees from carrying a unit, and says why."""
    sections = re.split(r"^## ", glossary.read_text("utf-8"), flags=re.MULTILINE)
    freed = "".join(section for section in sections if section.startswith(UNITLESS))
    return tuple(re.findall(r"^\| `([^`]+)` \|", freed, flags=re.MULTILINE))


def number_aliases(modules: list[Module]) -> frozenset[str]:
    """Find the names that modules give to types of numbers, such as ``Depths = NDArray[np.float64]``."""
    return frozenset(name for module in modules for name in _named_types(module))


def numbers(module: Module, aliases: frozenset[str] = frozenset()) -> Iterator[tuple[int, str, str]]:
    """Yield line, name and role of every public number of a module.

    These are arguments, fields, and functions that return one number or one array of them. Private names,
    and functions inside functions, are the module's own business.
    """
    aliases &= _names_of(module)
    for node in module.tree.body:
        if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
            yield from _of_class(node, aliases)
        elif isinstance(node, Function):
            yield from _of_function(node, aliases)


def names_without_unit(
    module: Module, unitless: tuple[str, ...], aliases: frozenset[str] = frozenset()
) -> Iterator[str]:
    """Name every public number that neither carries its unit nor stands in the glossary."""
    edge = module.layer in EDGES | {"materials"}  # data files keep the units that their sources print
    for line, name, role in numbers(module, aliases):
        listed = any(fnmatchcase(name.lower(), pattern) for pattern in unitless)
        if not listed and not carries_unit(name, edge=edge):
            yield f"{module.path}:{line}: {role} {name} carries no unit and is not in docs/glossary.md"


def like_numbers_by_position(module: Module) -> Iterator[str]:
    """Name every public function that takes two numbers of one unit by position.

    A point may come as x and then y, and pixels in the order of drawing; compiled functions know no keywords.
    """
    for node in ast.walk(module.tree):
        if not isinstance(node, Function) or node.name.startswith("_") or _compiled(node):
            continue
        kinds = [_kind(arg) for arg in node.args.args if _may_be_mixed_up(arg.arg)]
        if len(kinds) > len(set(kinds)):
            yield f"{module.path}:{node.lineno}: {node.name} takes like numbers by position; put a * first"


def _kind(arg: ast.arg) -> tuple[str, str]:
    """Give the unit and the type of an argument."""
    return arg.arg.split("_")[-1], ast.unparse(arg.annotation) if arg.annotation else ""


def _may_be_mixed_up(name: str) -> bool:
    return carries_unit(name, edge=True) and not name.startswith(("x_", "y_")) and not name.endswith("_px")


def _named_types(module: Module) -> Iterator[str]:
    """Yield the names that a module gives to types which hold numbers."""
    for node in module.tree.body:
        if isinstance(node, ast.Assign) and isinstance(node.value, ast.Subscript | ast.BinOp):
            name = ast.unparse(node.targets[0])
            if name[:1].isupper() and not name.isupper() and _holds_number(ast.unparse(node.value)):
                yield name


def _names_of(module: Module) -> set[str]:
    """Collect the names that a module gives to types, or takes from other modules of the package."""
    taken = {
        alias.name
        for node in module.tree.body
        if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("farface")
        for alias in node.names
    }
    return taken | set(_named_types(module))


def _of_class(node: ast.ClassDef, aliases: frozenset[str]) -> Iterator[tuple[int, str, str]]:
    for item in node.body:
        if isinstance(item, Function):
            yield from _of_function(item, aliases)
        elif isinstance(item, ast.AnnAssign) and _is_number(item.annotation, aliases):
            field = ast.unparse(item.target)
            if not field.startswith("_"):
                yield item.lineno, field, "field"


def _of_function(node: Function, aliases: frozenset[str]) -> Iterator[tuple[int, str, str]]:
    if node.name.startswith("_"):
        return
    for arg in (*node.args.posonlyargs, *node.args.args, *node.args.kwonlyargs):
        if _is_number(arg.annotation, aliases) and not arg.arg.startswith("_"):
            yield arg.lineno, arg.arg, f"argument of {node.name}:"
    if _is_number(node.returns, aliases) and not _holds_several(node.returns):
        yield node.lineno, node.name, "result of"


def _is_number(annotation: ast.expr | None, aliases: frozenset[str]) -> bool:
    if annotation is None:
        return False
    text = ast.unparse(annotation)
    return _holds_number(text) or any(re.search(rf"\b{alias}\b", text) for alias in aliases)


def _holds_number(annotation: str) -> bool:
    return bool(_NUMBER.search(annotation)) and "Callable" not in annotation


def _holds_several(annotation: ast.expr | None) -> bool:
    """Tell whether a result is a tuple, list or mapping, whose parts the docstring names."""
    return annotation is not None and bool(
        re.match(r"(tuple|list|dict|Iterator|Mapping|Sequence|Iterable)\b", ast.unparse(annotation))
    )


def _compiled(node: Function) -> bool:
    return any("njit" in ast.unparse(decorator) for decorator in node.decorator_list)
