"""Find the distinct layouts of points behind a plan's passes: many passes fire the same points again."""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from farface.records import Pass, Setting


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """Hold one array of points, the setting it is fired with, and the passes that fire it, in order."""

    number: int
    setting: Setting
    points_m: NDArray[np.float64]
    passes: tuple[Pass, ...]


def distinct_layouts(passes: Iterable[Pass]) -> tuple[Layout, ...]:
    """Group passes that share one array of points and one setting, numbered from 1 in order of first use.

    Arrays count as shared when they are the same object, as a plan makes them; equal copies stay apart.
    """
    groups: dict[tuple[int, Setting], list[Pass]] = {}
    for one in passes:
        groups.setdefault((id(one.points_m), one.setting), []).append(one)
    return tuple(
        Layout(number=number, setting=group[0].setting, points_m=group[0].points_m, passes=tuple(group))
        for number, group in enumerate(groups.values(), start=1)
    )
