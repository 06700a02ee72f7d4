"""Forecast what the far face does, for many settings and many draws of the unknowns at once."""

import math
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import Final

import numpy as np
from numba import njit
from numpy.typing import NDArray

from farface.etch.bench import BenchNumbers, EtchBench
from farface.etch.breaking import breaking_odds
from farface.etch.column import LINES_BACK, Column, Firing, Liquid, boiling, column_shares, normal_cdf
from farface.etch.deposit import Deposit, stamp_fullness
from farface.etch.etched import MOST_PULSES, Kept, deposit_constants, etched, forget, room_to_keep
from farface.etch.ignition import Ignition, ignite, room_for_points
from farface.etch.outcome_odds import share_odds
from farface.etch.unknowns import (
    ABSORPTION,
    BREAKING,
    BUBBLE_SHARE,
    CELL_SCATTER,
    DISPERSION,
    RISE_NEEDED,
    SPOT,
)
from farface.kernel import OutOfRange
from farface.records import SEEN, Setting

QUANTITIES: Final = (
    "depth_per_pass_m",
    "removal_per_pulse_m",
    "margin",
    "pulses_between_flashes",
    "inside_per_flash",
    "overshoot",
    "column_m",
    "bubble_radius_m",
    "bubble_life_s",
    "heating_k",
    "left_share",
    "fluence_j_per_m2",
    "absorptance",
)
(
    _DEPTH, _REMOVAL, _MARGIN, _INTERVAL, _INSIDE, _OVERSHOOT, _COLUMN,
    _RADIUS, _LIFE, _HEATING, _LEFT, _FLUENCE, _ABSORPTANCE,
) = range(len(QUANTITIES))  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Forecast:
    """Hold a forecast for every draw and setting.

    ``odds``, shape (draw, setting, outcome), outcomes in the order of `farface.records.SEEN`, sums to 1.
    The others have shape (draw, setting). ``margin`` is runaway fluence over fluence; ``depth_per_pass_m``
    is that of an area hatched at the pitch in both directions, at the floor's mean.
    """

    odds: NDArray[np.float64]
    values: NDArray[np.float64]

    def quantity(self, name: str) -> NDArray[np.float64]:
        """Return one of ``QUANTITIES``, shape (draw, setting)."""
        return np.asarray(self.values[:, :, QUANTITIES.index(name)])


def forecast(
    bench: EtchBench, settings: Sequence[Setting], draws: NDArray[np.float64], *, threads: int = 2
) -> Forecast:
    """Run the chain from pulse to outcome for each setting under each draw.

    ``draws`` has shape (draw, UNKNOWN_COUNT). The same result for any number of threads. About 50 us a
    pair with margins, shared between settings of equal rate.
    """
    table = np.array(
        [
            (s.pulse_energy_j, s.rate_hz, s.pulses_per_point, s.pitch_m, s.passes, s.focus_offset_m)
            for s in settings
        ]
    )
    if table[:, 2].max() > MOST_PULSES:
        raise OutOfRange(
            f"pulses per point is {table[:, 2].max():.0f}, but the model is held to at most {MOST_PULSES}. "
            "Choose fewer pulses and more passes."
        )
    odds = np.empty((len(draws), len(table), len(SEEN)))
    values = np.empty((len(draws), len(table), len(QUANTITIES)))
    numbers = bench.numbers()
    # Settings that share the most stand side by side: rate, focus, pulses, pitch, and energy last.
    order = np.lexsort((table[:, 0], table[:, 3], table[:, 2], table[:, 5], table[:, 1]))
    parts = np.array_split(np.arange(len(draws)), max(1, min(threads, len(draws))))

    def run(part: NDArray[np.intp]) -> None:
        low, high = part[0], part[-1] + 1
        _fill(
            draws[low:high],
            table,
            order,
            numbers,
            bench.liquid,
            bench.drain,
            odds[low:high],
            values[low:high],
        )

    if len(parts) == 1:
        run(parts[0])
    else:
        with ThreadPoolExecutor(len(parts)) as pool:
            list(pool.map(run, parts))
    return Forecast(odds=odds, values=values)


@njit(cache=True, nogil=True, error_model="numpy")
def _fill(
    draws: NDArray[np.float64],
    table: NDArray[np.float64],
    order: NDArray[np.int64],
    bench: BenchNumbers,
    liquid: Liquid,
    drain: NDArray[np.float64],
    odds: NDArray[np.float64],
    values: NDArray[np.float64],
) -> None:
    """Fill odds and values; what settings that follow one another in ``order`` share is computed once.

    Steady states are kept per draw, rate, spot and run of pulses; left-over heat per draw and way of firing.
    """
    kept = room_to_keep()
    points = room_for_points(int(table[:, 2].max()))
    for d in range(draws.shape[0]):
        draw = draws[d]
        deposit = deposit_constants(draw, bench)
        firing, column, _ = how_fired(table[order[0]], draw, bench, liquid)
        shares, boil = column_shares(firing, column, liquid, drain), boiling(column, liquid)
        forget(kept, firing.rate_hz, column.spot_radius_m, draw, bench)
        for i in order:
            now, wide, heating = how_fired(table[i], draw, bench, liquid)
            if now.rate_hz != firing.rate_hz or wide.spot_radius_m != column.spot_radius_m:
                forget(kept, now.rate_hz, wide.spot_radius_m, draw, bench)
            if now != firing or wide != column:
                firing, column = now, wide
                shares, boil = column_shares(firing, column, liquid, drain), boiling(column, liquid)
            lit = ignite(heating, firing, column, shares, boil, points)
            _one(
                table[i], firing, heating, column.spot_radius_m, lit, draw, bench, deposit, kept, odds[d, i],
                values[d, i],
            )  # fmt: skip


@njit(cache=True, nogil=True, error_model="numpy")
def how_fired(
    setting: NDArray[np.float64], draw: NDArray[np.float64], bench: BenchNumbers, liquid: Liquid
) -> tuple[Firing, Column, float]:
    """Turn a row of settings and a draw into how points are fired, the column, and a pulse's heating in K."""
    energy, rate, pulses, pitch, _, offset = setting
    spot = draw[SPOT] * math.sqrt(1.0 + (offset / bench.rayleigh_m) ** 2)
    firing = Firing(rate, int(pulses), pitch, bench.settle_s + pitch / bench.jump_m_per_s, bench.line_m)
    column = Column(spot, draw[ABSORPTION], draw[RISE_NEEDED], draw[DISPERSION], draw[BUBBLE_SHARE])
    fluence = 2.0 * energy * bench.transmission / (math.pi * spot**2)
    return firing, column, column.absorption_per_m * fluence / liquid.heat_capacity_j_per_m3_k


@njit(cache=True, nogil=True, error_model="numpy")
def _one(
    setting: NDArray[np.float64],
    firing: Firing,
    heating: float,
    spot: float,
    lit: Ignition,
    draw: NDArray[np.float64],
    bench: BenchNumbers,
    deposit: Deposit,
    kept: Kept,
    odds: NDArray[np.float64],
    values: NDArray[np.float64],
) -> None:
    """Go on from ignition: deposit, removal, depth, odds."""
    energy, _, pulses, pitch, passes, _ = setting
    fluence = 2.0 * energy * bench.transmission / (math.pi * spot**2)
    runaway, removal, absorptance = etched(fluence, lit.run_length, deposit, kept)
    overlap = 0.5 * math.pi * spot**2 / pitch**2
    met = lit.flashes_per_point * lit.inside_per_flash
    depth = (
        removal
        * met
        * overlap
        * stamp_fullness(deposit.threshold_j_per_m2, absorptance * fluence, deposit.law)
    )
    values[_DEPTH] = depth
    values[_REMOVAL] = removal
    values[_MARGIN] = runaway / fluence
    values[_INTERVAL] = pulses / max(lit.flashes_per_point, 1e-12)
    values[_INSIDE] = lit.inside_per_flash
    values[_OVERSHOOT] = lit.overshoot
    values[_COLUMN] = lit.column_m
    values[_RADIUS] = lit.radius_m
    values[_LIFE] = lit.life_s
    values[_HEATING] = heating
    values[_LEFT] = lit.left_share
    values[_FLUENCE] = fluence
    values[_ABSORPTANCE] = absorptance
    touched = 1.0 - math.exp(-lit.flashes_per_point * max(overlap, 1.0) * passes)
    breaking = breaking_odds(
        fluence, draw[BREAKING], lit.left_share * heating * bench.glass_share, _heated_s(firing),
        bench.line_m, bench.plate,
    )  # fmt: skip
    running = normal_cdf(math.log(fluence / runaway) / draw[CELL_SCATTER])
    share_odds(odds, touched, breaking, running, depth * passes, lit)


@njit(cache=True, nogil=True, error_model="numpy")
def _heated_s(firing: Firing) -> float:
    """Return how long the lines whose heat is added up take."""
    point_s = firing.pulses / firing.rate_hz + firing.jump_s
    return LINES_BACK * firing.line_m / firing.pitch_m * point_s
