"""Race ways of choosing cells: ``python -m benchmarks.next_loop --seeds 50``.

On each invented bench every way starts from the same plate of eight cells and adds plates of six, until the
setting that it recommends is truly within a tenth of the depth and loses fewer than one cell in twenty. Told
are the cells used and the cells lost (run away or broken) by then, and a way that never gets there is charged
all cells that it ran.
"""

import argparse
import json
import sys
import time
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import Final

import numpy as np

from benchmarks.loop_bench import Race, meets, true_bench
from benchmarks.loop_ways import WAYS, spread_cells
from benchmarks.row import Row, row

START: Final = 8
MOST_PLATES: Final = 8
SEEDS: Final = 2  # of the row in the table of all benchmarks; some 20 s of processor time each
OURS: Final = "farface next"


@dataclass(frozen=True, slots=True, kw_only=True)
class Finish:
    """Hold how one way fared on one bench."""

    way: str
    seed: int
    met: bool
    cells: int
    lost: int


def race(way: str, seed: int) -> Finish:
    """Let one way work on one bench until its setting meets the target or the plates are used up."""
    truth = true_bench(seed)
    now = Race(truth, np.random.default_rng((seed, 3)))
    now.run(spread_cells(START, np.random.default_rng((seed, 4))))
    rng = np.random.default_rng((seed, 5))
    met = False
    while True:
        advice = WAYS[way](now.outcomes, rng)
        met = advice.setting is not None and meets(advice.setting, truth, seed)
        if met or now.plates == MOST_PLATES:
            return Finish(way=way, seed=seed, met=met, cells=len(now.outcomes), lost=now.lost)
        now.run(advice.cells)


def table(finishes: Sequence[Finish]) -> str:
    """Write how every way fared, as a table in Markdown."""
    seeds = len({finish.seed for finish in finishes})
    lines = [
        f"| way ({seeds} benches) | met the target | cells used, median | mean | cells lost, median | mean |",
        "|---|---|---|---|---|---|",
    ]
    for way in dict.fromkeys(finish.way for finish in finishes):
        own = [finish for finish in finishes if finish.way == way]
        met = f"{sum(finish.met for finish in own)} of {len(own)}"
        counts = [
            f"{np.median(values):g} | {np.mean(values):.1f}"
            for values in ([finish.cells for finish in own], [finish.lost for finish in own])
        ]
        lines.append(f"| {way} | {met} | {counts[0]} | {counts[1]} |")
    return "\n".join(lines)


def mean_cells(finishes: Sequence[Finish], way: str) -> float:
    """Average the cells that a way used."""
    return float(np.mean([finish.cells for finish in finishes if finish.way == way]))


def measure() -> Row:
    """Set the cells used against those of the best other way, on a few benches."""
    finishes = [race(way, seed) for seed in range(SEEDS) for way in WAYS]
    best = min((way for way in WAYS if way != OURS), key=lambda way: mean_cells(finishes, way))
    ours, peer = mean_cells(finishes, OURS), mean_cells(finishes, best)
    return row(name="next", value=ours, unit="cells", peer=best, ratio=ours / peer, goal=("at most", 0.5))


def main(arguments: Sequence[str] | None = None) -> int:
    """Race all ways on the benches asked for; each finish is told as it comes, on standard error."""
    reader = argparse.ArgumentParser(prog="python -m benchmarks.next_loop", description=__doc__)
    reader.add_argument("--seeds", type=int, default=50, help="how many benches")
    reader.add_argument("--from", dest="first", type=int, default=0, help="the first bench's seed")
    reader.add_argument("--minutes", type=float, default=1e9, help="start no bench after so many minutes")
    reader.add_argument("--json", action="store_true", help="print every finish as JSON")
    given = reader.parse_args(arguments)
    finishes: list[Finish] = []
    start_s = time.monotonic()
    for seed in range(given.first, given.first + given.seeds):
        if time.monotonic() - start_s > 60.0 * given.minutes:
            break
        for way in WAYS:
            finishes.append(race(way, seed))
            print(finishes[-1], file=sys.stderr, flush=True)
    print(json.dumps([asdict(finish) for finish in finishes]) if given.json else table(finishes))
    return 0


if __name__ == "__main__":
    sys.exit(main())
