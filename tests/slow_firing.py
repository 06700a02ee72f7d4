"""Fire points pulse by pulse the slow, obvious way, for the tests: whole-map arrays, no lumps, no tiles."""

import math
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from farface.etch.column import burst_of
from farface.etch.deposit import LINEAR, RISE_GAIN_K, RISE_REMOVAL_K
from farface.heat.drain import LOG_TAU, PROBES_ZETA
from farface.part.firing import Law, Luck, Shots

Map = NDArray[np.float64]


@dataclass
class SlowMap:
    """Hold the maps, the heat of every point so far, and the cavities, as plain lists."""

    rows: int
    columns: int
    heats: list[list[float]] = field(default_factory=list)
    cavities: list[tuple[float, float, float, float]] = field(default_factory=list)

    def __post_init__(self) -> None:
        shape = (self.rows, self.columns)
        self.deposit, self.skin, self.depth_m = np.zeros(shape), np.zeros(shape), np.zeros(shape)


def fire_slowly(shots: Shots, luck: Luck, law: Law, rows: int, columns: int, reach: int) -> SlowMap:
    """Fire every point; cells further than the tile's ``reach`` from a point are left alone."""
    world = SlowMap(rows, columns)
    for n in range(len(shots.time_s)):
        _point(n, shots, luck, law, world, reach)
    return world


def _point(n: int, shots: Shots, luck: Luck, law: Law, world: SlowMap, reach: int) -> None:
    x, y = shots.x_m[n], shots.y_m[n]
    middle_s = shots.time_s[n] + 0.5 * (law.pulses - 1) / law.rate_hz
    column, row = (x - law.left_m) / law.cell_m, (y - law.bottom_m) / law.cell_m
    off_m = world.depth_m[round(row), round(column)] - shots.focus_m[n]
    wider = 1.0 + (off_m / law.rayleigh_m) ** 2
    share = _share(world, column, row, law.media.spot_radius_m / law.cell_m * math.sqrt(wider), reach)
    heating_k, age, absorbed = law.heating_k / wider, 0, np.zeros(law.pulses)
    glass_k, left_k = _left(world, law, middle_s, x, y)
    for k in range(law.pulses):
        time_s = shots.time_s[n] + k / law.rate_hz
        if any(time_s < end and math.hypot(x - cx, y - cy) < r for cx, cy, r, end in world.cavities):
            rise_k = glass_k + sum(law.residue_k_m2_per_j[k - 1 - j] * absorbed[j] for j in range(k))
            taken = _etch(world, share, law, law.fluence_j_per_m2 / wider, rise_k)
            absorbed[k] = taken * law.cell_m**2 / (0.5 * math.pi * law.media.spot_radius_m**2)
            continue
        rises = left_k + heating_k * (law.dwell[age] + law.fresh)
        age += 1
        if rises.max() > luck.needed_k[n, k]:
            hottest_m = PROBES_ZETA[rises.argmax()] * law.media.spot_radius_m
            over = math.log(rises.max() / luck.needed_k[n, k])
            _, radius_m, life_s = burst_of(over, hottest_m, law.column, law.liquid)
            world.cavities.append((x, y, radius_m, time_s + life_s * luck.life_ratio[n, k]))
            for heat in world.heats:
                if math.hypot(heat[3] - x, heat[4] - y) < radius_m:
                    heat[0] = 0.0
            _, left_k = _left(world, law, middle_s, x, y)
            age = 0
            world.deposit += law.deposit.seed * share
    world.heats.append([age * heating_k, law.kept_share * absorbed.sum(), middle_s, x, y])


def _share(world: SlowMap, column: float, row: float, spot_px: float, reach: int) -> Map:
    i, j = np.arange(world.columns), np.arange(world.rows)[:, None]
    share = np.exp(-2.0 * ((i - column) ** 2 + (j - row) ** 2) / spot_px**2)
    left, bottom = math.floor(column) - reach + 1, math.floor(row) - reach + 1
    inside = (i >= left) & (i < left + 2 * reach) & (j >= bottom) & (j < bottom + 2 * reach)
    return np.asarray(np.where(inside, share, 0.0))


def _etch(world: SlowMap, share: Map, law: Law, fluence: float, rise_k: float) -> float:
    c = law.deposit
    threshold = max(c.threshold_j_per_m2 * (1.0 - rise_k / RISE_REMOVAL_K), 0.0)
    absorbed = fluence * share * -np.expm1(-world.deposit)
    if c.law == LINEAR:
        removed = c.removal_m3_per_j * np.maximum(absorbed - threshold, 0.0)
    else:
        ratio = np.maximum(absorbed / threshold, 1.0)
        removed = c.removal_m3_per_j * c.threshold_j_per_m2 * np.log(ratio)
    kept, bare = np.exp(-removed / c.wear_m), 1.0 - world.skin
    gained = c.growth_m4_per_j2 * (1.0 + rise_k / RISE_GAIN_K) * absorbed**2 * bare
    world.deposit = (world.deposit + gained) * kept
    world.skin = world.skin * kept + c.passivation * share * bare
    world.depth_m = world.depth_m + removed
    return float(absorbed.sum())


def _left(world: SlowMap, law: Law, time_s: float, x: float, y: float) -> tuple[float, Map]:
    """Sum what every earlier point has left on the glass, and in the bath at every probe."""
    w2 = law.media.spot_radius_m**2
    glass_k, bath_k = 0.0, np.zeros(PROBES_ZETA.size)
    for bath, glass, at_s, px, py in world.heats:
        age_s, away2 = time_s - at_s, (x - px) ** 2 + (y - py) ** 2
        wide = w2 + 8.0 * law.media.glass_m2_per_s * age_s
        glass_k += (
            glass / (law.media.glass_effusivity_j_per_m2_k_sqrt_s * math.sqrt(math.pi * age_s))
            * w2 / wide * math.exp(-2.0 * away2 / wide)
        )  # fmt: skip
        tau = law.media.bath_m2_per_s * age_s / w2
        drain = [np.interp(math.log(tau), LOG_TAU, law.media.drain[:, i]) for i in range(PROBES_ZETA.size)]
        bath_k += bath * np.array(drain) / (1.0 + 8.0 * tau) * math.exp(-2.0 * away2 / w2 / (1.0 + 8.0 * tau))
    return glass_k, bath_k
