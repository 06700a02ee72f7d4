"""How long work says how far it has come."""

from collections.abc import Callable

# Called with what is being done and the share that is done, 0 to 1.
Progress = Callable[[str, float], None]


def quiet(what: str, share: float) -> None:
    """Say nothing."""
