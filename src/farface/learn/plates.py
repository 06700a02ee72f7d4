"""Sort evidence by plate, and move draws onto a plate by its offset in fluence.

The unknowns are shared by all plates of a bench. A plate differs by one log-fluence offset, for its
focus, its thickness and the age of its bath: fluence goes with 1 / spot^2, so the offset scales the spot.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from farface.etch.bench import EtchBench
from farface.etch.unknowns import SPOT
from farface.learn.depth import depth_per_pass_interval_m
from farface.learn.film import Film, Watched, watch
from farface.records import SEEN, Outcome, Setting

# Width of the prior of a plate's log-fluence offset. Assumed: focus, thickness and bath of a small bench.
PLATE_WIDTH: Final = 0.10


@dataclass(frozen=True, slots=True, kw_only=True)
class Readings:
    """Hold readings of one kind: column ``at`` of the forecast, and two numbers per pass for each.

    The numbers are depth and standard deviation, or the ends of an interval; all have shape (reading,).
    """

    at: NDArray[np.intp]
    first_m: NDArray[np.float64]
    second_m: NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlateEvidence:
    """Hold all that one plate showed; ``settings`` are distinct, those of equal rate side by side.

    ``cell_at`` and ``seen`` have shape (cell,): the column of each cell's setting, and its place in SEEN.
    """

    plate: str
    settings: tuple[Setting, ...]
    cell_at: NDArray[np.intp]
    seen: NDArray[np.intp]
    measured: Readings
    felt: Readings
    pierced: Readings
    films: tuple[tuple[int, Watched], ...]


def by_plate(
    bench: EtchBench, outcomes: Sequence[Outcome], films: Sequence[Film]
) -> tuple[PlateEvidence, ...]:
    """Sort outcomes and films by plate, plates in order of name."""
    names = sorted({o.plate for o in outcomes} | {f.plate for f in films})
    return tuple(
        _plate(bench, name, [o for o in outcomes if o.plate == name], [f for f in films if f.plate == name])
        for name in names
    )


def in_order(settings: Sequence[Setting]) -> tuple[Setting, ...]:
    """Drop repeats and set equal rates side by side, which lets the forecast share their margins."""
    return tuple(sorted(set(settings), key=_by_rate))


def _by_rate(s: Setting) -> tuple[float, ...]:
    return (s.rate_hz, s.focus_offset_m, s.pulses_per_point, s.pulse_energy_j, s.pitch_m, s.passes)


def _plate(bench: EtchBench, name: str, outcomes: Sequence[Outcome], films: Sequence[Film]) -> PlateEvidence:
    settings = in_order([o.setting for o in outcomes] + [f.setting for f in films])
    at = {setting: i for i, setting in enumerate(settings)}
    measured: list[tuple[int, float, float]] = []
    felt: list[tuple[int, float, float]] = []
    pierced: list[tuple[int, float, float]] = []
    # Only a steady floor deepens pass by pass: elsewhere a depth says nothing that the model predicts.
    for o in (o for o in outcomes if o.seen == "steady"):
        column, passes = at[o.setting], o.setting.passes
        # A cell has one depth. The piercing stands above a reading of a floor that is no longer there;
        # a sheet still whole adds nothing to a reading.
        if o.pierced is not None and (o.depth is None or o.pierced.through_by is not None):
            pierced.append((column, *depth_per_pass_interval_m(o.pierced)))
        elif o.depth is not None:
            kind = felt if o.depth.method == "feel_at_least" else measured
            kind.append((column, o.depth.depth_m / passes, o.depth.sd_m / passes))
    return PlateEvidence(
        plate=name,
        settings=settings,
        cell_at=np.array([at[o.setting] for o in outcomes], dtype=np.intp),
        seen=np.array([SEEN.index(o.seen) for o in outcomes], dtype=np.intp),
        measured=_readings(measured),
        felt=_readings(felt),
        pierced=_readings(pierced),
        films=tuple((at[f.setting], watch(f, bench)) for f in films),
    )


def _readings(rows: list[tuple[int, float, float]]) -> Readings:
    table = np.array(rows, dtype=float).reshape(-1, 3)
    return Readings(at=table[:, 0].astype(np.intp), first_m=table[:, 1], second_m=table[:, 2])


def on_plate(draws: NDArray[np.float64], offset: NDArray[np.float64]) -> NDArray[np.float64]:
    """Move draws, shape (draw, UNKNOWN_COUNT), onto a plate of log-fluence ``offset``, shape (draw,)."""
    moved = np.array(draws)
    moved[:, SPOT] *= np.exp(-0.5 * offset)
    return moved


def on_next_plate(draws: NDArray[np.float64], rng: np.random.Generator) -> NDArray[np.float64]:
    """Move draws onto a plate not yet run: each takes an offset from the prior of plates."""
    return on_plate(draws, PLATE_WIDTH * rng.standard_normal(len(draws)))
