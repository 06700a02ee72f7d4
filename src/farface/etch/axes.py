"""What a window can vary: every knob of a setting, and what follows from several or from the bath."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from farface.etch.bench import EtchBench
from farface.etch.unknowns import ABSORPTION
from farface.optics.bath import require_dissolved
from farface.records import Setting
from farface.records.knobs import KNOBS, Knob


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """Hold what is forecast: a bench, a setting on it, and draws of its unknowns."""

    bench: EtchBench
    setting: Setting
    draws: NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Axis:
    """Describe one axis; ``move`` puts a case at an SI value of it, ``read`` tells that value.

    Of two axes the one with the lower ``turn`` is moved first: the bath, then knobs, then what follows from
    several knobs.
    """

    name: str
    words: str
    dimension: str
    unit: str
    whole: bool
    move: Callable[[Case, float], Case]
    read: Callable[[Case], float]
    turn: int = 1


def _turned(knob: Knob) -> Axis:
    def move(case: Case, value: float) -> Case:
        changed: dict[str, Any] = {knob.field: round(value) if knob.whole else value}
        return replace(case, setting=replace(case.setting, **changed))

    return Axis(
        name=knob.name, words=knob.words, dimension=knob.dimension, unit=knob.unit, whole=knob.whole,
        move=move, read=lambda case: float(getattr(case.setting, knob.field)),
    )  # fmt: skip


def _at_speed(case: Case, speed_m_per_s: float) -> Case:
    """Reach a marking speed by the pitch: points lie pulses x speed / rate apart."""
    setting = case.setting
    pitch_m = speed_m_per_s * setting.pulses_per_point / setting.rate_hz
    return replace(case, setting=replace(setting, pitch_m=pitch_m))


def _speed_m_per_s(case: Case) -> float:
    setting = case.setting
    return setting.pitch_m * setting.rate_hz / setting.pulses_per_point


def _with_copper(case: Case, copper_mol_per_m3: float) -> Case:
    """Change the bath's copper: what copper absorbs, in belief and in every draw, changes in proportion."""
    require_dissolved(copper_mol_per_m3)
    bench = case.bench
    share = copper_mol_per_m3 / bench.copper_mol_per_m3
    water_per_m = bench.water_absorption_per_m
    known = bench.absorption_per_m
    changed = replace(
        bench,
        copper_mol_per_m3=copper_mol_per_m3,
        absorption_per_m=replace(
            known, value=water_per_m + share * (known.value - water_per_m), sd=share * known.sd
        ),
    )
    draws = case.draws.copy()
    draws[:, ABSORPTION] = water_per_m + share * np.maximum(draws[:, ABSORPTION] - water_per_m, 0.0)
    return replace(case, bench=changed, draws=draws)


AXES: Final = {
    axis.name: axis
    for axis in (
        *(_turned(knob) for knob in KNOBS.values()),
        Axis(
            name="speed", words="marking speed", dimension="m/s", unit="mm/s", whole=False,
            move=_at_speed, read=_speed_m_per_s, turn=2,
        ),
        Axis(
            name="copper", words="copper in the bath", dimension="mol/m3", unit="mol/L", whole=False,
            move=_with_copper, read=lambda case: case.bench.copper_mol_per_m3, turn=0,
        ),
    )
}  # fmt: skip
