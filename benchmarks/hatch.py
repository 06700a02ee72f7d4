"""Measure filling a polygon of 10,000 vertices and 20 holes with 10,000 rows of points, beside shapely."""

import statistics
import time

import numpy as np

from benchmarks.row import Row, row
from farface.part.hatch import hatch_points_m
from farface.part.shapes import Vertices, region_of

ROWS = 10_000
VERTICES = 10_000
HOLES = 20
PITCH_M = 2e-6
WIDTH_M = 100 * PITCH_M
ROUNDS = 7
LIMIT_MS = 50.0


def measure() -> Row:
    """Lay all points (about a million) and, in turn, let shapely cut all rows; milliseconds."""
    rings = rings_m()
    ours_ms(rings)
    pairs = [(ours_ms(rings), shapely_ms(rings)) for _ in range(ROUNDS)]
    ours, peer = (statistics.median(times) for times in zip(*pairs, strict=True))
    return row(
        name="hatch", value=ours, unit="ms", ratio=ours, goal=("at most", LIMIT_MS),
        peer=f"none; shapely takes {peer:.0f} ms to cut the rows",
    )  # fmt: skip


def rings_m() -> list[Vertices]:
    """Draw a tall wavy strip with round holes, `VERTICES` in all."""
    tall_m = ROWS * PITCH_M
    side = (VERTICES - HOLES * 100) // 2
    y = np.linspace(0.0, tall_m, side)
    edge = 0.5 * WIDTH_M * (1.0 + 0.1 * np.sin(np.arange(side)))
    rings = [np.vstack((np.column_stack((-edge, y)), np.column_stack((edge, y))[::-1]))]
    turn = np.linspace(0.0, 2.0 * np.pi, 100, endpoint=False)
    for middle_m in (np.arange(HOLES) + 0.5) * tall_m / HOLES:
        rings.append(0.25 * WIDTH_M * np.column_stack((np.cos(turn), np.sin(turn))) + (0.0, middle_m))
    return rings


def ours_ms(rings: list[Vertices]) -> float:
    """Return how long the points take."""
    start_s = time.process_time()
    hatch_points_m(rings, pitch_m=PITCH_M, angle_rad=0.0)
    return 1e3 * (time.process_time() - start_s)


def shapely_ms(rings: list[Vertices]) -> float:
    """Return how long shapely takes to cut all rows at once."""
    from shapely import intersection, linestrings

    region = region_of(rings)
    y = (np.arange(ROWS) + 0.5) * PITCH_M
    ends = np.stack(
        (np.column_stack((np.full(ROWS, -WIDTH_M), y)), np.column_stack((np.full(ROWS, WIDTH_M), y))), 1
    )
    rows = linestrings(ends)
    start_s = time.process_time()
    intersection(rows, region)
    return 1e3 * (time.process_time() - start_s)
