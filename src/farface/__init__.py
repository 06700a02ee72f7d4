"""Plan, predict and learn the etching of the far face of glass with a pulsed laser and an absorbing bath.

What a script or a notebook needs stands here and loads when it is first used::

    rig, bath = farface.read_rig(path), farface.read_bath(path)
    model = farface.Model.start(rig, bath)
    model.window(farface.setting(rig, energy="300 uJ"))

See `farface.library` for each, and docs/library.md for the loop in one go.
"""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from farface.kernel import FarfaceError, parse_quantity, show_quantity
    from farface.library import (
        Film,
        Model,
        PlannedPart,
        factorial,
        read_bath,
        read_drawing,
        read_film,
        read_outcomes,
        read_rig,
        setting,
    )

__version__ = "0.1.0"
__all__ = [
    "FarfaceError",
    "Film",
    "Model",
    "PlannedPart",
    "__version__",
    "factorial",
    "parse_quantity",
    "read_bath",
    "read_drawing",
    "read_film",
    "read_outcomes",
    "read_rig",
    "setting",
    "show_quantity",
]
_OF_KERNEL = ("FarfaceError", "parse_quantity", "show_quantity")


def __getattr__(name: str) -> object:
    """Load a public name when it is first used, so that importing farface costs next to nothing."""
    from importlib import import_module

    if name not in __all__:
        raise AttributeError(f"module 'farface' has no attribute {name!r}")
    found: object = getattr(
        import_module("farface.kernel" if name in _OF_KERNEL else "farface.library"), name
    )
    globals()[name] = found
    return found


def __dir__() -> list[str]:
    return sorted([*globals(), *__all__])
