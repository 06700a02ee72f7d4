"""Compute the maps behind a window page: every quantity over two settings, at several values of a third."""

import hashlib
from collections import OrderedDict
from dataclasses import dataclass
from threading import Lock
from typing import Final

import numpy as np
from numpy.typing import NDArray

from farface.app.axis import axis_of, shown_values
from farface.app.draws import Draws, current_draws
from farface.app.settings import Typed, setting_of
from farface.app.workbench import Workbench
from farface.etch.axes import AXES, Case
from farface.etch.window import forecast_cases
from farface.kernel import OutOfRange
from farface.optics.energy import pulse_energy_available_j
from farface.records import SEEN, Rig, Setting
from farface.records.knobs import KNOBS
from farface.report.look import SEEN_WORDS

# The grid that is computed; a page draws it finer. Rough draws come while a person waits, fine ones after.
GRID: Final = 21
LEVELS: Final = 5
ROUGH_DRAWS: Final = 24
FINE_DRAWS: Final = 60
_KEPT: Final = 24
_NOT_FINITE: Final = np.float32(np.nan)


@dataclass(frozen=True, slots=True, kw_only=True)
class Quantity:
    """Describe what a map can show: a column of the forecast with its band, in the unit it is read in.

    ``span`` is what the colours span, in that unit: the same on every map, so that maps can be compared.
    """

    name: str
    words: str
    column: str
    unit: str
    factor: float
    span: tuple[float, float]


# Bands over the draws; odds come before them, one layer an outcome.
QUANTITIES: Final = (
    Quantity(
        name="depth", words="depth per pass", column="depth_per_pass_m", unit="um", factor=1e-6,
        span=(0.01, 30),
    ),
    Quantity(
        name="margin", words="margin from runaway", column="margin", unit="", factor=1.0, span=(0.3, 10)
    ),
    Quantity(
        name="ignition", words="ignition index (pulses between flashes)",
        column="pulses_between_flashes", unit="", factor=1.0, span=(1, 300),
    ),
    Quantity(
        name="removal", words="removal per etching pulse", column="removal_per_pulse_m", unit="nm",
        factor=1e-9, span=(1, 3000),
    ),
)  # fmt: skip
ENDS: Final = ("low", "median", "high")
# The last layer is 1 where the laser gives the setting, 0 where it cannot.
REACH: Final = "reach"


@dataclass(frozen=True, slots=True, kw_only=True)
class StackOrder:
    """Say which two settings span the maps, which one slides, and whether what was learned counts."""

    x: str = "energy"
    y: str = "pulses"
    slide: str = "rate"
    prior: bool = False
    fine: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Stack:
    """Hold maps, shape (layer, level, y, x), float32; layers are the odds in the order of `SEEN`, then bands,
    then `REACH`. ``basis`` is the same as long as rig, bath and fit are.
    """

    values: NDArray[np.float32]
    basis: str


def stack_layers() -> list[str]:
    """Name the layers in their order."""
    bands = [f"{quantity.name}-{end}" for quantity in QUANTITIES for end in ENDS]
    return [*(f"odds-{seen}" for seen in SEEN), *bands, REACH]


def window_stack(work: Workbench, typed: Typed, order: StackOrder) -> Stack:
    """Compute the maps, or give those computed before for the same bench, setting and order.

    About 10 us of one core a pair of setting and draw: a rough stack without slider takes 0.1 s, a fine one
    with its five levels about 1.3 s.
    """
    etch = work.etch()
    draws = current_draws(work, etch, prior=order.prior)
    basis = basis_of(work, prior=order.prior)
    key = hashlib.sha256(repr((basis, typed, order)).encode()).hexdigest()
    found = _CACHE.get(key)
    if found is None:
        found = Stack(values=_computed(work, typed, order, draws), basis=basis)
        _CACHE.put(key, found)
    return found


def basis_of(work: Workbench, *, prior: bool = False) -> str:
    """Name what predictions rest on: rig and bath as they are, and the last fit that stands."""
    fit = None if prior else work.journal.latest("fit")
    return hashlib.sha256(b"".join(work.texts) + (b"" if fit is None else fit.id.encode())).hexdigest()[:16]


def stack_axes(work: Workbench, typed: Typed, order: StackOrder) -> dict[str, dict[str, object]]:
    """Describe the axes in the units they are read in; ``now`` is where the present setting lies."""
    setting = setting_of(work.rig, typed)
    told = {}
    for part in ("x", "y", "slide"):
        name, values = _axis(work, typed, order, part)
        axis = AXES[name]
        told[part] = {
            "name": name, "words": axis.words, "unit": axis.unit, "whole": axis.whole,
            "values": shown_values(axis, values),
            "now": shown_values(axis, [_present(work, setting, name)])[0],
        }  # fmt: skip
    return told


def _present(work: Workbench, setting: Setting, name: str) -> float:
    """Give where the present setting lies on an axis, without the physics that a page need not wait for."""
    if name == "copper":
        return work.bath.copper_mol_per_m3
    if name == "speed":
        return setting.pitch_m * setting.rate_hz / setting.pulses_per_point
    fields = {knob.name: field for field, knob in KNOBS.items()}
    return float(getattr(setting, fields[name]))


def quantities_told() -> list[dict[str, object]]:
    """Describe every quantity a page can choose, its odds first."""
    odds: list[dict[str, object]] = [
        {"name": f"odds-{seen}", "words": f"odds of {SEEN_WORDS[seen]}", "unit": "%", "factor": 0.01,
         "span": (0, 100), "band": False}
        for seen in sorted(SEEN, key=lambda seen: seen != "steady")
    ]  # fmt: skip
    bands: list[dict[str, object]] = [
        {"name": q.name, "words": q.words, "unit": q.unit, "factor": q.factor, "span": q.span, "band": True}
        for q in QUANTITIES
    ]
    return odds + bands


def _computed(work: Workbench, typed: Typed, order: StackOrder, draws: Draws) -> NDArray[np.float32]:
    names = {order.x.partition("=")[0].strip(), order.y.partition("=")[0].strip(), order.slide}
    if len(names) < 3:
        raise OutOfRange("two of the three settings are the same. Choose three different ones.")
    most = FINE_DRAWS if order.fine else ROUGH_DRAWS
    chosen = np.linspace(0, len(draws.values) - 1, min(most, len(draws.values))).round().astype(int)
    start = Case(bench=work.etch(), setting=setting_of(work.rig, typed), draws=draws.values[chosen])
    (x, xs), (y, ys), (slide, levels) = (_axis(work, typed, order, part) for part in ("x", "y", "slide"))
    if not order.fine:
        levels = [AXES[slide].read(start)]
    cases = [
        AXES[x].move(AXES[y].move(AXES[slide].move(start, w), v), u) for w in levels for v in ys for u in xs
    ]
    odds, bands = forecast_cases(cases, [quantity.column for quantity in QUANTITIES])
    reach = np.array([[_reached(work.rig, case.setting) for case in cases]])
    layers = np.concatenate([odds.T, bands.reshape(-1, len(cases)), reach])
    layers[~np.isfinite(layers)] = _NOT_FINITE
    return layers.reshape(-1, len(levels), len(ys), len(xs)).astype(np.float32)


def _reached(rig: Rig, setting: Setting) -> float:
    laser = rig.laser
    if not laser.rate_min_hz <= setting.rate_hz <= laser.rate_max_hz:
        return 0.0
    return float(setting.pulse_energy_j <= pulse_energy_available_j(laser, setting.rate_hz) * (1.0 + 1e-9))


def _axis(work: Workbench, typed: Typed, order: StackOrder, part: str) -> tuple[str, list[float]]:
    setting = setting_of(work.rig, typed)
    points = LEVELS if part == "slide" else GRID
    return axis_of(work.rig, setting, getattr(order, part), points=points)


class _Kept:
    """Keep the last stacks, for all threads; each is some 200 kB."""

    def __init__(self) -> None:
        self._lock = Lock()
        self._stacks: OrderedDict[str, Stack] = OrderedDict()

    def get(self, key: str) -> Stack | None:
        """Find a stack, and count it as used last."""
        with self._lock:
            if key in self._stacks:
                self._stacks.move_to_end(key)
            return self._stacks.get(key)

    def put(self, key: str, stack: Stack) -> None:
        """Keep a stack, and let the one used longest ago go."""
        with self._lock:
            self._stacks[key] = stack
            while len(self._stacks) > _KEPT:
                self._stacks.popitem(last=False)


_CACHE: Final = _Kept()
