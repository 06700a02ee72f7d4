"""A plan: passes along points, and what was wanted of them; a draft until safety clears it."""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from farface.records.setting import Setting

PassKind = Literal["pocket", "line", "cut"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """Say what one shape of a drawing should become; ``depth_m`` counts from the untouched far face."""

    shape: str
    kind: PassKind
    depth_m: float
    tolerance_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Pass:
    """Hold one pass over one shape: points in order of firing, shape (points, 2), x and y in metres.

    ``setting.passes`` is 1. ``focus_drop_m`` is how far the lens stands from its first height because
    the floor has risen into the glass (positive away from the bath).
    """

    number: int
    shape: str
    kind: PassKind
    setting: Setting
    points_m: NDArray[np.float64]
    focus_drop_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Draft:
    """Hold a plan that no machine may run yet; risks are probabilities for the whole part."""

    name: str
    rig: str
    invented: bool
    wanted: tuple[Wanted, ...]
    passes: tuple[Pass, ...]
    duration_s: float
    break_risk: float
    pierce_risk: float


@dataclass(frozen=True, slots=True, kw_only=True)
class HazardAnswer:
    """Hold how one hazard item was answered, by whose initials, and when (UTC, ISO 8601).

    ``item`` is a key of `farface.safety.hazard_items`; an item that is "not needed" gives its ``reason``.
    """

    item: str
    answer: Literal["done", "not needed"]
    initials: str
    at_utc: str
    reason: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Confirmation:
    """Hold who said that the hazards were read and dealt with, when (UTC, ISO 8601), and item by item."""

    person: str
    at_utc: str
    statement: str
    answers: tuple[HazardAnswer, ...] = ()
