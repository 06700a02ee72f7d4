"""Hold the code to the house style, and hold every rule to a small example that breaks it."""

import subprocess
import sys
import tomllib
from collections.abc import Callable, Iterator
from fnmatch import fnmatchcase

import pytest

from checks import purity, shape, units
from checks.tree import EDGES, MODELS, PACKAGE, ROOT, Module, package_modules, parse, tracked_files

MODULES = package_modules()
ALIASES = units.number_aliases(MODULES)
UNITLESS = units.unitless_names()

# Functions that may be longer than the rule allows: 'path:name' and why they read better whole.
LONG_FUNCTIONS: dict[str, str] = {
    "etch/unknowns.py:unknowns": "a table: one entry an unknown, each with its meaning and its reason",
}
# Modules that may be longer than the rule allows, and why they are one idea all the same.
LONG_MODULES: dict[str, str] = {}

HEAVY = {"numba", "scipy", "matplotlib", "sqlalchemy", "av", "shapely", "trimesh", "alembic"}


def _names_without_unit(module: Module) -> Iterator[str]:
    return units.names_without_unit(module, UNITLESS, ALIASES)


Rule = Callable[[Module], Iterator[str]]

# Every rule with examples that break it: where the example stands, and its text.
RULES: dict[str, tuple[Rule, list[tuple[str, str]]]] = {
    "unit in the name": (
        _names_without_unit,
        [
            ("optics/beam.py", "def spot(*, radius: float) -> None: ..."),
            ("optics/beam.py", "def spot(radius_um: float) -> None: ..."),
            ("optics/beam.py", "def spot_radius(rig: Rig) -> float: ..."),
            ("optics/beam.py", "def spot(radii: NDArray[np.float64]) -> None: ..."),
            ("etch/removal.py", "def removal(depth_per_pass: float | None) -> None: ..."),
            ("records/rig.py", "class Plate:\n    thickness: Known"),
            ("records/rig.py", "class Plate:\n    def area(self) -> float: ..."),
            ("heat/train.py", "Depths = NDArray[np.float64]\ndef depth(at: Depths) -> None: ..."),
        ],
    ),
    "like numbers by keyword": (
        units.like_numbers_by_position,
        [("heat/train.py", "def spread(width_m: float, depth_m: float) -> None: ...")],
    ),
    "no drawers": (
        shape.drawer_names,
        [("optics/utils.py", ""), ("helpers/beam.py", ""), ("etch/_misc.py", "")],
    ),
    "module docstring": (shape.missing_module_docstring, [("optics/beam.py", "import math")]),
    "module size": (shape.long_modules, [("optics/beam.py", "x = 1\n" * 301)]),
    "function size": (
        shape.long_functions,
        [
            ("optics/beam.py", "def f():\n" + "    x = 1\n" * 41),
            ("optics/beam.py", "class C:\n    def f(self):\n" + "        x = 1\n" * 41),
        ],
    ),
    "verb first": (
        shape.docstrings_without_verb,
        [
            ("optics/beam.py", 'def f():\n    """The radius."""'),
            ("optics/beam.py", 'class C:\n    """A beam."""'),
            ("optics/beam.py", 'def f():\n    """radius of the beam."""'),
        ],
    ),
    "no star imports": (shape.wildcard_imports, [("optics/beam.py", "from math import *")]),
    "frozen records": (
        shape.loose_dataclasses,
        [("records/rig.py", "@dataclass(frozen=True)\nclass Rig:\n    name: str")],
    ),
    "pure models": (
        purity.impure_models,
        [
            ("heat/train.py", "import time"),
            ("heat/train.py", "from logging import getLogger"),
            ("heat/train.py", "text = open('a')"),
            ("heat/train.py", "text = path.read_text()"),
            ("heat/train.py", "now = datetime.now()"),
            ("heat/train.py", "draws = np.random.default_rng()"),
            ("learn/fit.py", "np.random.seed(1)"),
        ],
    ),
    "only commands print": (purity.prints, [("app/learn.py", "print('done')")]),
}
ALLOWED = {"function size": LONG_FUNCTIONS, "module size": LONG_MODULES}


@pytest.mark.parametrize("rule", RULES)
def test_the_package_keeps_the_rule(rule: str) -> None:
    find, _ = RULES[rule]
    allowed = ALLOWED.get(rule, {})
    faults = [fault for module in MODULES for fault in find(module)]
    left = [fault for fault in faults if not fault.startswith(tuple(allowed))]
    assert not left, "\n".join(["", *left])


@pytest.mark.parametrize(
    ("rule", "at", "text"), [(rule, *example) for rule, (_, bad) in RULES.items() for example in bad]
)
def test_the_rule_sees_what_breaks_it(rule: str, at: str, text: str) -> None:
    find, _ = RULES[rule]
    module = parse(text, at)
    if rule == "unit in the name":
        assert list(units.names_without_unit(module, (), units.number_aliases([module])))
    else:
        assert list(find(module))


GOOD = '''"""Follow one pulse."""

PULSE_S: Final = 5e-9

@dataclass(frozen=True, slots=True, kw_only=True)
class Pulse:
    """Hold one pulse."""

    energy_j: float
    count: int
    _share: float

    def peak_fluence_j_per_m2(self, *, radius_m: float, offset_m: float = 0.0) -> float:
        """Give the peak fluence."""

def _inner(x: float, y: float) -> float: ...

def depths(*, removal_m_per_pulse: float, conductivity_w_per_m_k: float) -> tuple[float, float]:
    """Give two depths."""
'''


@pytest.mark.parametrize("rule", RULES)
def test_the_rule_lets_good_code_pass(rule: str) -> None:
    find, _ = RULES[rule]
    assert list(find(parse(GOOD, "optics/pulse.py"))) == []


def test_units_of_the_edge_stay_at_the_edge() -> None:
    text = "def mark(speed_mm_per_s: float) -> None: ..."
    assert list(_names_without_unit(parse(text, "cli/mark.py"))) == []
    assert list(_names_without_unit(parse(text, "etch/mark.py"))) != []


def test_every_allowance_is_needed_and_has_a_reason() -> None:
    for rule, allowed in ALLOWED.items():
        faults = [fault for module in MODULES for fault in RULES[rule][0](module)]
        for where, reason in allowed.items():
            assert any(fault.startswith(where) for fault in faults), f"{where} keeps the rule: strike it out"
            assert len(reason.split()) > 3, where


def test_every_name_freed_from_a_unit_is_used() -> None:
    used = {name.lower() for module in MODULES for _, name, _ in units.numbers(module, ALIASES)}
    unused = [pattern for pattern in UNITLESS if not any(fnmatchcase(name, pattern) for name in used)]
    assert unused == []


def test_every_layer_is_known_to_the_rules() -> None:
    layers = {path.name for path in PACKAGE.iterdir() if (path / "__init__.py").exists()}
    assert layers == MODELS | EDGES | {"materials"}


def test_no_file_names_a_folder_of_one_machine() -> None:
    faults = []
    for path in tracked_files():
        try:
            text = path.read_text("utf-8")
        except UnicodeDecodeError:
            continue
        faults += purity.machine_paths(path.relative_to(ROOT).as_posix(), text)
    assert faults == []


@pytest.mark.parametrize("folder", ["work", "home", "root"])
def test_a_folder_of_one_machine_is_seen(folder: str) -> None:
    assert list(purity.machine_paths("note.md", f"open('/{folder}/bench/rig.toml')"))
    assert not list(
        purity.machine_paths("note.md", f"see docs/{folder}/rig.md or https://example.org/{folder}/")
    )


def _unbounded(requirements: list[str]) -> list[str]:
    """Name every requirement that lacks a lower or an upper bound."""
    return [text for text in requirements if ">=" not in text or ",<" not in text]


def test_dependencies_have_both_bounds() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    extras = [text for extra in project.get("optional-dependencies", {}).values() for text in extra]
    assert _unbounded(project["dependencies"] + extras) == []
    assert _unbounded(["numpy>=1.26", "scipy<2", "av"]) == ["numpy>=1.26", "scipy<2", "av"]


SHOW_HELP = """
import sys
sys.argv = ["farface", "--help"]
from farface.cli.main import run
try:
    run()
except SystemExit as left:
    assert not left.code, left.code
print("loaded:", *sorted({name.partition(".")[0] for name in sys.modules}))
"""


def test_help_does_not_pay_for_physics() -> None:
    shown = subprocess.run(
        [sys.executable, "-c", SHOW_HELP], capture_output=True, text=True, check=True
    ).stdout
    loaded = set(shown.rpartition("loaded:")[2].split())
    assert "farface" in loaded
    assert loaded & HEAVY == set()
