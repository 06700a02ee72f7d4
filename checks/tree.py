"""Read the project's own files, so that rules can be applied to them."""

import ast
import subprocess
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path, PurePosixPath

ROOT = Path(__file__).resolve().parent.parent
PACKAGE = ROOT / "src" / "farface"

# Models compute: no clock, no file, no log, no hidden randomness. Edges meet the world and its units.
MODELS = frozenset(
    {"records", "optics", "heat", "cavity", "footage", "safety", "etch", "coupon", "part", "prepare", "learn"}
)
EDGES = frozenset({"journal", "files", "report", "app", "web", "cli"})

Function = ast.FunctionDef | ast.AsyncFunctionDef


@dataclass(frozen=True, slots=True, kw_only=True)
class Module:
    """Hold one module of the package: its path below the package, its text, its syntax tree."""

    path: PurePosixPath
    text: str
    tree: ast.Module

    @property
    def layer(self) -> str:
        """Name the layer: the first folder, or the module itself when it stands alone."""
        return self.path.parts[0].removesuffix(".py")


def parse(text: str, at: str) -> Module:
    """Make a module from its text, as if it stood ``at`` that path below the package."""
    return Module(path=PurePosixPath(at), text=text, tree=ast.parse(text, filename=at))


def package_modules() -> list[Module]:
    """Read every module of the package, in the order of their paths."""
    return [
        parse(path.read_text("utf-8"), path.relative_to(PACKAGE).as_posix())
        for path in sorted(PACKAGE.rglob("*.py"))
    ]


def functions(tree: ast.AST) -> Iterator[tuple[str, Function]]:
    """Yield every function with its dotted name, methods and inner functions included."""
    for child in ast.iter_child_nodes(tree):
        if isinstance(child, Function | ast.ClassDef):
            if isinstance(child, Function):
                yield child.name, child
            for name, inner in functions(child):
                yield f"{child.name}.{name}", inner
        elif not isinstance(child, ast.expr):
            yield from functions(child)


def tracked_files() -> list[Path]:
    """List the files that git tracks or would track; without git, every file outside hidden folders."""
    listing = ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"]
    try:
        names = subprocess.run(listing, cwd=ROOT, check=True, capture_output=True).stdout.decode("utf-8")
    except (OSError, subprocess.CalledProcessError):
        found = [path for path in ROOT.rglob("*") if not _hidden(path)]
    else:
        found = [ROOT / name for name in names.split("\0") if name]
    return sorted(path for path in found if path.is_file())


def _hidden(path: Path) -> bool:
    """Tell whether a path lies in a hidden folder or a cache."""
    return any(part.startswith(".") or part == "__pycache__" for part in path.relative_to(ROOT).parts[:-1])
