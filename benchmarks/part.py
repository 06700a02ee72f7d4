"""Measure firing a part pulse by pulse, against a plain read-modify-write of stamps on the same maps."""

import math
import statistics
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor

import numpy as np
from numba import njit

from benchmarks.bench import BENCH
from benchmarks.row import Row, row
from farface.etch.unknowns import BUBBLE_SHARE, SPOT, unknowns
from farface.part.firing import Shots
from farface.part.pulse_stamp import Cells, empty_cells, tile_width
from farface.part.run import CELLS_A_SPOT, Frame, Run, run_points
from farface.records import Setting

THREADS = 2
SIDE = 60
ROUNDS = 5
# The dearest case: the first pulse of a point opens a cavity, and all its others etch 24 x 24 cells.
SETTING = Setting(pulse_energy_j=7e-4, rate_hz=40e3, pulses_per_point=8, pitch_m=18e-6, passes=1)
POINT_S = 1e-3
PULSES = SIDE * SIDE * SETTING.pulses_per_point


def measure() -> Row:
    """Fire a hatch on two threads and, in turn, add one to every cell of as many stamps; pulses a second."""
    wide, etching_share = _warm_up()
    pairs = [(_rate_hz(fired), _rate_hz(lambda: touched(wide))) for _ in range(ROUNDS)]
    ours_hz, touched_hz = (statistics.median(rates) for rates in zip(*pairs, strict=True))
    return row(
        name="part", value=ours_hz, unit="pulses/s", ratio=touched_hz / ours_hz, goal=("at most", 2.5),
        peer=f"read-modify-write of {wide} x {wide} cells ({etching_share:.0%} of pulses etch)",
    )  # fmt: skip


def fired() -> Run:
    """Fire the hatch once under the prior's medians, with cavities that outlive a point's pulses."""
    draw = np.array([u.median for u in unknowns(BENCH)])
    draw[BUBBLE_SHARE] = 0.9
    cell_m = draw[SPOT] / CELLS_A_SPOT
    cells = math.ceil(SIDE * SETTING.pitch_m / cell_m) + 30
    edge_m = -0.5 * (cells - 1) * cell_m
    frame = Frame(left_m=edge_m, bottom_m=edge_m, cell_m=cell_m, rows=cells, columns=cells)
    return run_points(BENCH, SETTING, draw, hatch(), frame, np.random.default_rng(0))


def hatch() -> Shots:
    """Lay points to and fro, and leave every point's cavity the time to close before the next."""
    line, column = np.divmod(np.arange(SIDE * SIDE), SIDE)
    column = np.where(line % 2, SIDE - 1 - column, column)
    place_m = SETTING.pitch_m * (np.stack((column, line)) - 0.5 * (SIDE - 1)).astype(np.float64)
    time_s = POINT_S * np.arange(line.size, dtype=np.float64)
    return Shots(time_s, place_m[0], place_m[1], np.zeros(line.size))


def touched(width: int) -> float:
    """Add one to every cell of three maps under as many stamps."""
    cells = empty_cells(700, 700)
    _touch(cells, width, PULSES, SETTING.pulses_per_point)
    return float(cells.depth_m.max())


def _warm_up() -> tuple[int, float]:
    """Compile both; return the width of a stamp and the share of pulses that etched."""
    done = fired()
    wide = tile_width(CELLS_A_SPOT)
    touched(wide)
    return wide, float(done.found.etching.sum() / PULSES)


def _rate_hz(work: Callable[[], object]) -> float:
    """Run work on every thread at once; return pulses a second, were a core free for each thread."""
    start_s = time.process_time()
    with ThreadPoolExecutor(THREADS) as pool:
        list(pool.map(lambda _: work(), range(THREADS)))
    return THREADS * THREADS * PULSES / (time.process_time() - start_s)


@njit(cache=True, nogil=True)
def _touch(cells: Cells, width: int, pulses: int, each: int) -> None:
    rows, columns = cells.depth_m.shape
    across = (columns - width) // 6
    for n in range(pulses):
        point = n // each
        left, bottom = 6 * (point % across), 6 * (point // across) % (rows - width)
        for j in range(width):
            deposit = cells.deposit[bottom + j, left : left + width]
            skin = cells.skin[bottom + j, left : left + width]
            depth = cells.depth_m[bottom + j, left : left + width]
            for i in range(width):
                deposit[i] += 1.0
                skin[i] += 1.0
                depth[i] += 1.0
