"""Follow one place of the far face pulse by pulse, as the strip shows it."""

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from farface.etch.bench import EtchBench
from farface.etch.column import Column, burst_of
from farface.etch.deposit import burst, passivated_with_slope, residual_heat_k_m2_per_j
from farface.etch.etched import deposit_constants
from farface.etch.ignition import LIFE_SPREAD
from farface.etch.steady import quiet_state
from farface.etch.unknowns import ABSORPTION, BUBBLE_SHARE, DISPERSION, RESIDUE, RISE_NEEDED, SPOT
from farface.heat.train import Exponentials, compress
from farface.records import Setting

# Depth at which the liquid is watched, in spot radii: below what the glass drains within a dwell.
WATCHED_ZETA: Final = 1.2
SAMPLES_PER_GAP: Final = 16
# At least so many points and pulses are followed, the place watched being the middle point.
LEAST_POINTS: Final = 5
LEAST_PULSES: Final = 28
# Points whose heat has fallen off by exp(-2 x this) are too far to be felt.
FELT: Final = 7.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Cavity:
    """Hold one cavity of a trace: the pulse that opened it, its life, and its largest radius."""

    pulse: int
    opened_s: float
    closed_s: float
    radius_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Trace:
    """Hold what one place goes through while the scanner passes over it and its neighbours.

    Over pulses: ``pulse_s``; ``point``, how many points away from the place each pulse fell; ``deposit``,
    the optical depth after it; ``removal_m``. Over samples: ``sample_s`` and ``rise_k``, the rise of the
    bath ``WATCHED_ZETA`` spot radii below the place.
    """

    pulse_s: NDArray[np.float64]
    point: NDArray[np.int64]
    deposit: NDArray[np.float64]
    removal_m: NDArray[np.float64]
    sample_s: NDArray[np.float64]
    rise_k: NDArray[np.float64]
    rise_needed_k: float
    cavities: tuple[Cavity, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Train:
    """Hold the pulses of a trace and the response of the bath at every distance between points."""

    pulse_s: NDArray[np.float64]
    point: NDArray[np.int64]
    heating_k: float
    to_tau: float
    responses: tuple[Exponentials, ...]

    def rise_k(self, time_s: float, *, point: int, first: int, last: int) -> float:
        """Return what the pulses first .. last - 1 have left at a point and time."""
        total = 0.0
        for j in range(first, last):
            away = abs(point - int(self.point[j]))
            if away < len(self.responses):
                response = self.responses[away]
                tau = (time_s - self.pulse_s[j]) * self.to_tau
                total += float(response.weights @ np.exp(-response.rates * tau))
        return self.heating_k * total


def trace(bench: EtchBench, setting: Setting, draw: NDArray[np.float64], rng: np.random.Generator) -> Trace:
    """Run neighbouring points in order under one draw; the middle one is the place watched.

    Heat comes from the exact response at the distance of each earlier pulse; every pulse draws its own
    rise to ignite and every cavity its life; a cavity spends the heat that came before it, and pulses that
    fall into it etch.
    About half a second.
    """
    train = _train(bench, setting, draw)
    cavities = tuple(_cavities(bench, train, draw, rng))
    deposit, removal_m = _etching(bench, setting, draw, train, cavities)
    period_s = 1.0 / setting.rate_hz
    sample_s = np.unique(
        np.concatenate(
            [
                train.pulse_s - 1e-9,
                (train.pulse_s[:, None] + period_s * np.linspace(1e-3, 1.0, SAMPLES_PER_GAP)).ravel(),
            ]
        )
    )
    return Trace(
        pulse_s=train.pulse_s,
        point=train.point,
        deposit=deposit,
        removal_m=removal_m,
        sample_s=sample_s,
        rise_k=_sampled(train, cavities, sample_s),
        rise_needed_k=float(draw[RISE_NEEDED]),
        cavities=cavities,
    )


def _train(bench: EtchBench, setting: Setting, draw: NDArray[np.float64]) -> _Train:
    n = setting.pulses_per_point
    point_s = n / setting.rate_hz + bench.settle_s + setting.pitch_m / bench.jump_m_per_s
    count = max(LEAST_POINTS, math.ceil(LEAST_PULSES / n) | 1)
    points = np.arange(count)
    spot_m, absorption_per_m = draw[SPOT], draw[ABSORPTION]
    to_tau = bench.liquid.diffusivity_m2_per_s / spot_m**2
    felt = math.sqrt(FELT * (1.0 + 8.0 * count * point_s * to_tau)) * spot_m / setting.pitch_m
    fluence = _fluence_j_per_m2(bench, setting, draw)
    return _Train(
        pulse_s=(points[:, None] * point_s + np.arange(n) / setting.rate_hz).ravel(),
        point=np.repeat(points - count // 2, n),
        heating_k=absorption_per_m * fluence / bench.liquid.heat_capacity_j_per_m3_k,
        to_tau=to_tau,
        responses=tuple(
            compress(
                bench.pair,
                alpha_w=absorption_per_m * spot_m,
                zeta=WATCHED_ZETA,
                rho=away * setting.pitch_m / spot_m,
            )
            for away in range(min(count, math.ceil(felt) + 1))
        ),
    )


def _cavities(
    bench: EtchBench, train: _Train, draw: NDArray[np.float64], rng: np.random.Generator
) -> list[Cavity]:
    """Let each pulse that meets liquid try its luck."""
    cavities: list[Cavity] = []
    column = Column(draw[SPOT], draw[ABSORPTION], draw[RISE_NEEDED], draw[DISPERSION], draw[BUBBLE_SHARE])
    fresh = 0
    fading = np.exp(-draw[ABSORPTION] * WATCHED_ZETA * draw[SPOT])
    needed_k = draw[RISE_NEEDED] * np.exp(draw[DISPERSION] * rng.standard_normal(train.pulse_s.size))
    longer = 1.0 + rng.uniform(-LIFE_SPREAD, LIFE_SPREAD, train.pulse_s.size)
    for n, time_s in enumerate(train.pulse_s):
        if cavities and time_s < cavities[-1].closed_s:
            fresh = n + 1
            continue
        left_k = train.rise_k(time_s, point=int(train.point[n]), first=fresh, last=n)
        peak_k = left_k + train.heating_k * fading
        if peak_k > needed_k[n]:
            over = float(np.log(peak_k / needed_k[n]))
            _, radius_m, life = burst_of(over, WATCHED_ZETA * column.spot_radius_m, column, bench.liquid)
            cavities.append(
                Cavity(
                    pulse=n,
                    opened_s=float(time_s),
                    closed_s=float(time_s + life * longer[n]),
                    radius_m=radius_m,
                )
            )
            fresh = n + 1
    return cavities


def _etching(
    bench: EtchBench,
    setting: Setting,
    draw: NDArray[np.float64],
    train: _Train,
    cavities: tuple[Cavity, ...],
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Run the deposit map at the place watched, from its steady state, through the pulses inside cavities."""
    constants = deposit_constants(draw, bench.numbers())
    fluence = _fluence_j_per_m2(bench, setting, draw)
    residue = residual_heat_k_m2_per_j(
        setting.pulses_per_point, 1.0 / setting.rate_hz, draw[RESIDUE],
        bench.glass.effusivity_j_per_m2_k_sqrt_s, draw[SPOT], bench.glass.diffusivity_m2_per_s,
    )  # fmt: skip
    _, m, per_pulse = quiet_state(fluence, setting.pulses_per_point, residue, constants)
    skin, _ = passivated_with_slope(per_pulse, constants)
    deposit = np.full(train.pulse_s.size, m)
    removal_m = np.zeros(train.pulse_s.size)
    for cavity in cavities:
        inside = (train.pulse_s > cavity.opened_s) & (train.pulse_s < cavity.closed_s) & (train.point == 0)
        count = int(inside.sum())
        if count == 0:
            continue
        history = np.empty((3, count))
        m, _ = burst(m, skin, fluence, count, residue, constants, history)
        first = int(np.argmax(inside))
        deposit[first:] = m
        deposit[inside] = history[1]
        removal_m[inside] = history[2]
    return deposit, removal_m


def _fluence_j_per_m2(bench: EtchBench, setting: Setting, draw: NDArray[np.float64]) -> float:
    return float(2.0 * setting.pulse_energy_j * bench.transmission / (np.pi * draw[SPOT] ** 2))


def _sampled(
    train: _Train, cavities: tuple[Cavity, ...], sample_s: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Sample the rise at the place watched; a cavity empties it until the next pulse that meets liquid."""
    rise_k = np.zeros(sample_s.size)
    for i, time_s in enumerate(sample_s):
        fresh = 0
        for cavity in cavities:
            if cavity.opened_s < time_s:
                fresh = int(np.searchsorted(train.pulse_s, cavity.closed_s))
        last = int(np.searchsorted(train.pulse_s, time_s))
        rise_k[i] = train.rise_k(time_s, point=0, first=fresh, last=last)
    return rise_k
