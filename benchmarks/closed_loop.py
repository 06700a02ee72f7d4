"""Make fifty pockets on the virtual bench (invented data), read on the way, and see how deep they are."""

import math
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from importlib.resources import files
from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray

from benchmarks.row import Row, row
from farface.app.coupon import order_coupon
from farface.app.demo import AROUND, COUPON, PLATE
from farface.app.draws import current_draws
from farface.app.goal import setting_for_depth
from farface.app.learn import learn_from_bench
from farface.app.outcomes import take_outcomes
from farface.app.settings import Typed
from farface.app.workbench import Workbench, open_workbench
from farface.coupon.ending import fire_cell
from farface.coupon.hidden_truth import DEMO_TRUTH, ReadingError
from farface.coupon.layout import TrialCell
from farface.coupon.true_conditions import conditions_of
from farface.coupon.virtual_bench import run_coupon
from farface.etch.forecast import forecast
from farface.files.bench_folder import make_bench
from farface.files.outcomes_file import write_outcomes
from farface.learn.depth import depth_width
from farface.learn.floor import Floor, passes_left, untouched_floor, with_reading
from farface.learn.plates import on_next_plate
from farface.part.stops import PLACES, STOPS_SHARES
from farface.records import Setting

SEEDS: Final = 50
WANTED_M: Final = 100e-6
SIDE_M: Final = 9e-3
# A pocket may take this many times the passes that were planned at first.
MOST_TIMES: Final = 4
# What a bench without a profiler has: 2 um and 4 %, and 3 % too deep throughout.
METHOD: Final = "focus_travel"


@dataclass(frozen=True, slots=True, kw_only=True)
class Pocket:
    """Hold the relative error of one pocket, with and without stops, and whether it was lost."""

    error: float
    error_without: float
    lost: bool


def measure() -> Row:
    """Learn from one coupon, then make the pockets; the value is the 90th percentile of their error."""
    pockets = make_pockets()
    kept = [abs(pocket.error) for pocket in pockets if not pocket.lost]
    without = float(np.quantile([abs(pocket.error_without) for pocket in pockets], 0.9))
    lost = sum(pocket.lost for pocket in pockets) / len(pockets)
    worst = float(np.quantile(kept, 0.9))
    # A lost pocket is worse than a shallow one: beyond 2 % of them the goal is missed whatever the depths.
    return row(
        name="closed_loop", value=worst, unit="of depth", ratio=worst if lost < 0.02 else math.inf,
        goal=("at most", 0.07),
        peer=f"none; {without:.2f} without stops, {lost:.0%} of {SEEDS} lost, median {np.median(kept):.3f}",
    )  # fmt: skip


def make_pockets(seeds: int = SEEDS, method: str = METHOD) -> list[Pocket]:
    """Make pockets of `WANTED_M` with the setting that a bench chose once it had learned."""
    (by,) = (reading for reading in DEMO_TRUTH.readings if reading.method == method)
    with tempfile.TemporaryDirectory() as name, _learned_bench(Path(name) / "bench") as work:
        etch = work.etch()
        draws = current_draws(work, etch)
        setting = setting_for_depth(work, etch, draws, Typed(pitch=AROUND.pitch), depth_m=WANTED_M, risk=0.1)
        setting = replace(setting, passes=1)
        found = []
        for seed in range(seeds):
            rng = np.random.default_rng(seed)
            on_it = on_next_plate(draws.values, rng)
            per_pass = forecast(etch, [setting], on_it).quantity("depth_per_pass_m")[:, 0]
            floor = untouched_floor(per_pass, depth_width(on_it), rng)
            found.append(_make(work, setting, floor, by, rng))
    return found


@contextmanager
def _learned_bench(folder: Path) -> Iterator[Workbench]:
    """Lay out the demo's bench, run its coupon on the virtual bench, and learn from it."""
    places = make_bench(folder)
    for source, target in (("rig.toml", places.rig), ("bath.toml", places.bath)):
        target.write_bytes(files("farface.app").joinpath("demo_files", source).read_bytes())
    with open_workbench(folder) as work:
        coupon = order_coupon(work, AROUND, COUPON)
        filled = places.coupons / f"{PLATE}-filled.csv"
        write_outcomes(filled, run_coupon(coupon, work.rig, work.bath, DEMO_TRUTH, work.rng()))
        take_outcomes(work, filled)
        learn_from_bench(work, steps=None)
        yield work


def _make(
    work: Workbench, setting: Setting, floor: Floor, by: ReadingError, rng: np.random.Generator
) -> Pocket:
    """Fire one pocket pass by pass as far as it may go; read it on the way and end it where planned."""
    planned = passes_left(floor, WANTED_M)
    depths_m, lost = _fired_m(work, replace(setting, passes=MOST_TIMES * planned), rng)
    most, passes = len(depths_m) - 1, 0
    for share in STOPS_SHARES:
        more = min(passes_left(floor, share * WANTED_M), most - passes)
        if more == 0:
            continue
        passes, floor = passes + more, floor.after(more)
        sd_m = by.sd_m + by.sd_share * depths_m[passes]
        read_m = np.mean((1.0 + by.bias_share) * depths_m[passes] + sd_m * rng.standard_normal(PLACES))
        floor = with_reading(floor, rng, reading_m=float(read_m), sd_m=float(sd_m) / math.sqrt(PLACES))
    passes += min(passes_left(floor, WANTED_M), most - passes)
    return Pocket(
        error=float(depths_m[passes] / WANTED_M - 1.0),
        error_without=float(depths_m[planned] / WANTED_M - 1.0),
        lost=lost or bool(depths_m[passes] >= work.rig.plate.thickness_m.value),
    )


def _fired_m(work: Workbench, setting: Setting, rng: np.random.Generator) -> tuple[NDArray[np.float64], bool]:
    """Return the true depth after 0, 1, 2, .. passes, and whether the place ran away or broke."""
    conditions = conditions_of(
        setting, work.rig, work.bath, DEMO_TRUTH, progress_share=rng.random(),
        thickness_error_m=DEMO_TRUTH.thickness_sd_m * rng.standard_normal(),
        scatter=(rng.standard_normal(), rng.standard_normal()),
    )  # fmt: skip
    cell = TrialCell(label="A1", setting=setting, block=1, order=1, x_m=0.0, y_m=0.0, size_m=SIDE_M)
    ending = fire_cell(cell, "square", work.rig, DEMO_TRUTH, conditions, rng)
    return np.concatenate(([0.0], ending.depths_m)), ending.seen in ("runaway", "broken")
