"""Firing pulse by pulse: a slow twin, the map step of one place, energy, convergence, heat, and cuts."""

import math
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from numpy.typing import NDArray

from bench_records import BATH, RIG
from farface.etch.bench import EtchBench, etch_bench
from farface.etch.deposit import LINEAR, LOGARITHMIC, Deposit, burst
from farface.etch.etched import REMOVAL_ENERGY_J_PER_M3
from farface.etch.unknowns import GROWTH, SEED, SPOT, unknowns
from farface.heat.drain import LOG_TAU
from farface.part.firing import (
    ABSORBED_J,
    BATH_SPOTS_K,
    GLASS_J,
    REMOVED_M3,
    TAKEN_SPOTS_K,
    Luck,
    Shots,
    fire,
    nothing_found,
)  # fmt: skip
from farface.part.left_heat import BATH_K, SLOTS, empty_memory, recall_k, remember
from farface.part.left_heat import GLASS_J as GLASS
from farface.part.pulse_stamp import aim, empty_cells, empty_tile, etch, tile_width
from farface.part.run import Frame, Run, law_of, luck_of, run_points
from farface.part.stamp import dent_volume_m2
from farface.records import Setting
from slow_firing import fire_slowly

SETTING = Setting(pulse_energy_j=4e-4, rate_hz=40e3, pulses_per_point=5, pitch_m=15e-6, passes=1)
POINT_S = 3e-4
# Twin and kernel in double precision add the same numbers in another order; heats below 0.01 K are left out.
SAME = 1e-6
# Single precision keeps 6e-8 of a number; two thousand map steps of a quiet deposit keep 1e-6.
SINGLE = 1e-6
# Lumps of eight points against every point by itself: the most that was met is 5.2 %.
LUMPED = 0.08
# Sums in double precision.
BALANCED = 1e-9


@cache
def bench() -> EtchBench:
    return etch_bench(RIG, replace(BATH, acid_mol_per_m3=500.0))


def draw() -> NDArray[np.float64]:
    """Return the medians of the prior, with more seed and growth, so that a few pulses already etch."""
    middle = np.array([u.median for u in unknowns(bench())])
    middle[SEED], middle[GROWTH] = 0.02, 3e5
    return middle


def hatch(lines: int, columns: int, *, start_s: float = 0.0) -> Shots:
    """Lay rows to and fro around the origin, fired one after another."""
    row, column = np.divmod(np.arange(lines * columns), columns)
    column = np.where(row % 2, columns - 1 - column, column)
    x, y = (SETTING.pitch_m * (at - 0.5 * at.max()) for at in (column, row))
    return Shots(start_s + POINT_S * np.arange(len(x)), x, y, np.zeros(len(x)))


def frame(cells: int, cell_m: float) -> Frame:
    edge = -0.5 * (cells - 1) * cell_m
    return Frame(left_m=edge, bottom_m=edge, cell_m=cell_m, rows=cells, columns=cells)


def run(shots: Shots, *, cells: int = 70, exact: bool = False, cell_m: float = 2.5e-6, seed: int = 0) -> Run:
    rng = np.random.default_rng(seed)
    return run_points(bench(), SETTING, draw(), shots, frame(cells, cell_m), rng, exact=exact)


@pytest.mark.exact
@pytest.mark.parametrize("law", [LINEAR, LOGARITHMIC])
@pytest.mark.parametrize(("precise", "tolerance"), [(True, SAME), (False, SINGLE)])
def test_every_cell_is_that_of_the_slow_twin(law: int, precise: bool, tolerance: float) -> None:
    shots = hatch(3, 5)
    assert len(shots.time_s) <= SLOTS
    law_now = law_of(bench(), SETTING, draw(), frame(70, 2.5e-6))
    law_now = law_now._replace(deposit=law_now.deposit._replace(law=law))
    luck = luck_of(draw(), (len(shots.time_s), SETTING.pulses_per_point), np.random.default_rng(3))
    cells = empty_cells(70, 70, exact=precise)
    tile = empty_tile(tile_width(law_now.media.spot_radius_m / law_now.cell_m), cells)
    fire(shots, luck, law_now, cells, tile, empty_memory(), nothing_found(len(shots.time_s)))
    twin = fire_slowly(shots, luck, law_now, 70, 70, tile.width // 2)
    assert twin.depth_m.max() > 20e-9
    for ours, slow in ((cells.depth_m, twin.depth_m), (cells.deposit, twin.deposit), (cells.skin, twin.skin)):
        assert np.abs(ours - slow).max() <= tolerance * slow.max()


@pytest.mark.exact
@pytest.mark.parametrize("law", [LINEAR, LOGARITHMIC])
def test_one_place_goes_through_the_map_of_the_deposit(law: int) -> None:
    c = Deposit(1e-11, 5e3, 1e-11 / (3e5 * 2e-6), 2e-6, 0.03, 0.0, law)
    residue = np.full(6, 3e-3)
    history = np.empty((3, 6))
    m, removed = burst(0.0, 0.0, 2.5e5, 6, residue, c, history)
    tile = empty_tile(16, empty_cells(16, 16, exact=True))
    tile.share[:], tile.deposit[:] = 1.0, c.seed
    for n in range(6):
        rise_k = sum(residue[n - 1 - j] * history[0, j] for j in range(n))
        absorbed, removed_now = etch(tile, 2.5e5, rise_k, c)
        assert absorbed / 256 == pytest.approx(history[0, n], rel=1e-6)
        assert removed_now / 256 == pytest.approx(history[2, n], rel=1e-6)
    assert tile.deposit[5] == pytest.approx(m, rel=1e-6)
    assert tile.depth_m[5] == pytest.approx(removed, rel=1e-6)


@pytest.mark.exact
def test_what_is_absorbed_leaves_with_the_glass_or_is_heat() -> None:
    shots, spot_m = hatch(12, 12), float(draw()[SPOT])
    done = run(shots, cells=120)
    sums, lumps = done.found.sums, done.memory.lumps
    held = [lumps[level, :count] for level, count in enumerate(done.memory.counts)]
    on_glass = (
        (sum(part[:, GLASS].sum() for part in held) + done.memory.forgotten[1]) * 0.5 * math.pi * spot_m**2
    )
    removed_m3 = done.cells.depth_m.sum() * (2.5e-6) ** 2
    assert sums[GLASS_J] == pytest.approx(on_glass, rel=BALANCED)
    assert sums[REMOVED_M3] == pytest.approx(removed_m3, rel=BALANCED)
    flown_j = sums[ABSORBED_J] - sums[GLASS_J] - REMOVAL_ENERGY_J_PER_M3 * sums[REMOVED_M3]
    assert 0.0 < flown_j < sums[ABSORBED_J]
    in_bath = sum(part[:, BATH_K].sum() for part in held) + done.memory.forgotten[0]
    assert sums[BATH_SPOTS_K] == pytest.approx(in_bath + sums[TAKEN_SPOTS_K], rel=BALANCED)


@pytest.mark.exact
def test_a_finer_map_comes_nearer_the_closed_form_with_the_second_power_of_its_cell() -> None:
    c = Deposit(1e-11, 5e3, 0.0, 2e-6, 0.0, 0.0, LINEAR)
    opaque, fluence = 0.3, 2e5
    peak_j_per_m2 = fluence * -math.expm1(-opaque)
    closed = c.removal_m3_per_j * (peak_j_per_m2 - c.threshold_j_per_m2)
    closed *= dent_volume_m2(1.0, c.threshold_j_per_m2 / peak_j_per_m2)

    def error(spot_px: float) -> float:
        """Return the error of a dent's volume over its places within a cell, root mean square."""
        tile = empty_tile(tile_width(spot_px), empty_cells(2, 2, exact=True))
        found = []
        for x, y in np.random.default_rng(0).uniform(0.0, 1.0, (60, 2)):
            aim(tile, tile.width // 2 - 1 + x, tile.width // 2 - 1 + y, spot_px)
            tile.deposit[:] = opaque
            _, removed = etch(tile, fluence, 0.0, c)
            found.append(removed / spot_px**2 / closed - 1.0)
        return float(np.sqrt(np.mean(np.square(found))))

    errors = [error(spot_px) for spot_px in (2.0, 4.0, 8.0)]
    assert errors[-1] < 1e-3
    assert math.log2(errors[0] / errors[2]) / 2 > 1.8


@pytest.mark.exact
def test_the_heat_of_two_thousand_points_is_that_of_the_plain_sum() -> None:
    law, shots = law_of(bench(), SETTING, draw(), frame(70, 2.5e-6)), hatch(45, 45)
    memory, left_k = empty_memory(), np.zeros(5)
    for time_s, x, y in zip(shots.time_s, shots.x_m, shots.y_m, strict=True):
        remember(memory, 30.0, 2e4, time_s, x, y)
    end_s = float(shots.time_s[-1]) + POINT_S
    for x, y in ((shots.x_m[-1], shots.y_m[-1]), (0.0, shots.y_m[-1]), (0.0, 0.0), (2e-4, 1e-4)):
        glass_k = recall_k(memory, law.media, end_s, x, y, left_k)
        age_s, away2 = end_s - shots.time_s, (shots.x_m - x) ** 2 + (shots.y_m - y) ** 2
        w2 = law.media.spot_radius_m**2
        wide = w2 + 8.0 * law.media.glass_m2_per_s * age_s
        each = (
            2e4
            / law.media.glass_effusivity_j_per_m2_k_sqrt_s
            / np.sqrt(np.pi * age_s)
            * w2
            / wide
            * np.exp(-2 * away2 / wide)
        )
        assert glass_k == pytest.approx(each.sum(), rel=LUMPED)
        tau = law.media.bath_m2_per_s * age_s / w2
        for i in range(5):
            drain = np.interp(np.log(tau), LOG_TAU, law.media.drain[:, i])
            each = 30.0 * drain / (1.0 + 8.0 * tau) * np.exp(-2.0 * away2 / w2 / (1.0 + 8.0 * tau))
            assert left_k[i] == pytest.approx(each.sum(), rel=LUMPED)


@pytest.mark.exact
def test_a_run_may_be_cut_anywhere_that_no_cavity_is_open() -> None:
    shots = hatch(4, 5)
    law, luck = law_of(bench(), SETTING, draw(), frame(70, 2.5e-6)), _luck(20)
    late = shots._replace(time_s=shots.time_s + np.where(np.arange(20) < 10, 0.0, 0.1))
    whole, halves = (empty_cells(70, 70) for _ in range(2))
    tile, memory = empty_tile(tile_width(8.0), whole), empty_memory()
    fire(late, luck, law, whole, tile, empty_memory(), nothing_found(20))
    for part in (slice(0, 10), slice(10, 20)):
        some = Shots(*(values[part] for values in late))
        few = Luck(*(values[part] for values in luck))
        fire(some, few, law, halves, tile, memory, nothing_found(10))
    assert np.array_equal(whole.depth_m, halves.depth_m)


def _luck(points: int) -> Luck:
    return luck_of(draw(), (points, SETTING.pulses_per_point), np.random.default_rng(1))


def test_a_floor_out_of_focus_etches_less() -> None:
    shots = hatch(6, 6)
    sharp, blurred = (run(shots._replace(focus_m=np.full(36, off))) for off in (0.0, 0.6e-3))
    assert blurred.cells.depth_m.sum() < 0.9 * sharp.cells.depth_m.sum()


def test_points_off_the_map_heat_it_but_leave_its_rim_alone() -> None:
    shots = hatch(8, 8)
    small = run(shots, cells=64)
    assert small.cells.depth_m[0].max() == 0.0
    assert small.found.glass_k[-1] > 0.0


def test_a_setting_of_one_pulse_runs() -> None:
    setting = replace(SETTING, pulses_per_point=1)
    done = run_points(bench(), setting, draw(), hatch(3, 3), frame(70, 2.5e-6), np.random.default_rng(0))
    assert done.found.etching.max() <= 1
