"""Look closely at one square of a part: fire it pulse by pulse under many draws, and map what is found.

Maps are made for depth (with its band), for the heat that a point met on its glass, for how far the fluence
there is from running away, and for when each place was last fired.
"""

import math
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from farface.etch.bench import EtchBench
from farface.etch.deposit import LOGARITHMIC, Deposit, growth_left_m4_per_j2, threshold_left_j_per_m2
from farface.etch.steady import runaway_fluence_j_per_m2
from farface.etch.unknowns import SPOT
from farface.etch.window import BAND
from farface.kernel import Missing
from farface.part.firing import Law, Shots
from farface.part.near import shots_near
from farface.part.pulse_stamp import REACH
from farface.part.run import CELLS_A_SPOT, Frame, Run, law_of, run_points
from farface.records import Pass, Scanner, Setting

# Points this far outside the square still warm it; those further off are left out.
HALO_M: Final = 0.15e-3
# A place this much deeper than its floor is a pit. Assumed.
PIT: Final = 1.5
# Cells around the square that points etch from within it, and from just outside.
RIM_CELLS: Final = math.ceil(2.0 * REACH * CELLS_A_SPOT)
# Rises on the glass for which the runaway fluence is solved; between them it is interpolated.
RISES_K: Final = np.array([0.0, 30.0, 80.0, 160.0, 300.0, 500.0, 800.0])

# One draw: its number, and the generator of its luck.
Turn = tuple[int, np.random.Generator]
# Takes every turn, in whatever order and place, and returns the results in the order of the turns.
Spread = Callable[["Scene", Sequence[Turn]], Sequence["DrawResult"]]


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawResult:
    """Hold one draw's maps: depth by cell (float32), and by bin of one pitch heat met and margin."""

    depth_m: NDArray[np.float32]
    rise_k: NDArray[np.float32]
    margin: NDArray[np.float32]


@dataclass(frozen=True, slots=True, kw_only=True)
class CloseUp:
    """Hold maps of a square of the plate, rows along y; the first three by cell, the others by bin.

    ``rise_k`` is the median over draws of the largest rise that any of a bin's points met, ``margin_low`` the
    runaway fluence over the fluence that 95 % of the draws exceed there, ``last_s`` when a bin was last
    fired;
    bins without a point are NaN. ``pit_odds`` is the share of draws in which the deepest place lies more than
    `PIT` times as deep as the floor around it.
    """

    frame: Frame
    bin_m: float
    low_m: NDArray[np.float32]
    median_m: NDArray[np.float32]
    high_m: NDArray[np.float32]
    rise_k: NDArray[np.float32]
    margin_low: NDArray[np.float32]
    last_s: NDArray[np.float64]
    pit_odds: float
    pulses: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Scene:
    """Hold all that a draw is run on; it can be sent to another process or machine."""

    bench: EtchBench
    setting: Setting
    draws: NDArray[np.float64]
    shots: Shots
    frame: Frame
    bins: int

    def run(self, turn: Turn) -> DrawResult:
        """Fire the square under one draw."""
        number, rng = turn
        draw = self.draws[number]
        done = run_points(self.bench, self.setting, draw, self.shots, self.frame, rng)
        rise_k = self._binned(done.found.glass_k)
        margin = _margin(done, law_of(self.bench, self.setting, draw, self.frame), rise_k)
        inner = self._inside(done.cells.depth_m)
        return DrawResult(
            depth_m=inner.astype(np.float32), rise_k=rise_k.astype(np.float32),
            margin=margin.astype(np.float32),
        )  # fmt: skip

    def last_fired_s(self) -> NDArray[np.float64]:
        """Return when every bin was last fired, shape (bins, bins)."""
        return self._binned(self.shots.time_s)

    def _inside(self, cells: NDArray[np.float64]) -> NDArray[np.float64]:
        """Cut the rim off, where points were too near the edge of the map to etch."""
        return cells[RIM_CELLS:-RIM_CELLS, RIM_CELLS:-RIM_CELLS]

    def _binned(self, values: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return the largest value of the points in every bin, shape (bins, bins), or NaN."""
        rim_m = (RIM_CELLS - 0.5) * self.frame.cell_m
        side_m = (self.frame.columns - 2 * RIM_CELLS) * self.frame.cell_m
        column = np.floor((self.shots.x_m - self.frame.left_m - rim_m) / side_m * self.bins).astype(int)
        row = np.floor((self.shots.y_m - self.frame.bottom_m - rim_m) / side_m * self.bins).astype(int)
        inside = (np.minimum(row, column) >= 0) & (np.maximum(row, column) < self.bins)
        most = np.full((self.bins, self.bins), -np.inf)
        np.maximum.at(most, (row[inside], column[inside]), values[inside])
        return np.where(np.isfinite(most), most, np.nan)


def scene_at(
    bench: EtchBench, passes: Sequence[Pass], scanner: Scanner, draws: NDArray[np.float64],
    *, middle_m: tuple[float, float], side_m: float, index: float,
) -> Scene:  # fmt: skip
    """Set the scene for a square of the plate; all passes must share one setting.

    Raises `Missing` when they do not, or when nothing is fired there.
    """
    settings = {one.setting for one in passes}
    if len(settings) != 1:
        raise Missing(
            "the passes have several settings; only passes of one setting are fired pulse by pulse."
        )
    (setting,) = settings
    cell_m = float(np.median(draws[:, SPOT])) / CELLS_A_SPOT
    cells = math.ceil(side_m / cell_m) + 2 * RIM_CELLS
    edge_m = 0.5 * (cells - 1) * cell_m
    frame = Frame(
        left_m=middle_m[0] - edge_m, bottom_m=middle_m[1] - edge_m, cell_m=cell_m, rows=cells, columns=cells
    )
    shots = shots_near(
        passes, scanner, middle_m=middle_m, half_m=0.5 * side_m + HALO_M,
        index=index,
    )  # fmt: skip
    if not shots.time_s.size:
        raise Missing("nothing is fired in this square. Choose a place on the part.")
    bins = max(1, round(side_m / setting.pitch_m))
    return Scene(bench=bench, setting=setting, draws=draws, shots=shots, frame=frame, bins=bins)


def look_closely(scene: Scene, rng: np.random.Generator, spread: Spread | None = None) -> CloseUp:
    """Fire the scene under every draw and map what was found; the same however the draws are spread."""
    turns = list(enumerate(rng.spawn(len(scene.draws))))
    results = (spread or on_threads)(scene, turns)
    depths = np.stack([one.depth_m for one in results])
    low, median, high = np.quantile(depths, (BAND[0], 0.5, BAND[1]), axis=0)
    return CloseUp(
        frame=scene.frame,
        bin_m=(scene.frame.columns - 2 * RIM_CELLS) * scene.frame.cell_m / scene.bins,
        low_m=low.astype(np.float32),
        median_m=median.astype(np.float32),
        high_m=high.astype(np.float32),
        rise_k=np.median([one.rise_k for one in results], axis=0),
        margin_low=np.quantile([one.margin for one in results], BAND[0], axis=0).astype(np.float32),
        last_s=scene.last_fired_s(),
        pit_odds=float(np.mean([_has_pit(one.depth_m) for one in results])),
        pulses=scene.shots.time_s.size * scene.setting.pulses_per_point,
    )


def on_threads(scene: Scene, turns: Sequence[Turn], *, threads: int = 2) -> list[DrawResult]:
    """Take the turns on threads of this process; the compiled loops let one another go on."""
    with ThreadPoolExecutor(threads) as pool:
        return list(pool.map(scene.run, turns))


def _has_pit(depth_m: NDArray[np.float32]) -> bool:
    floor_m = np.median(depth_m[depth_m >= 0.5 * depth_m.max()])
    return bool(depth_m.max() > PIT * floor_m)


def _margin(done: Run, law: Law, rise_k: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return runaway fluence over fluence where the glass was left warmer: solved, not read off the run."""
    etching = done.found.etching[done.found.etching > 0]
    burst_pulses = max(1, round(float(etching.mean()))) if etching.size else 1
    residue = law.residue_k_m2_per_j[:burst_pulses]
    runaway = [
        runaway_fluence_j_per_m2(burst_pulses, residue, _warmed(float(rise), law.deposit)) for rise in RISES_K
    ]
    return np.asarray(np.interp(rise_k, RISES_K, runaway) / law.fluence_j_per_m2)


def _warmed(rise_k: float, c: Deposit) -> Deposit:
    # A threshold of nothing has no runaway fluence to look for; far below that the glass has long run away.
    threshold = max(threshold_left_j_per_m2(rise_k, c), 1e-3 * c.threshold_j_per_m2)
    warmed = c._replace(threshold_j_per_m2=threshold, growth_m4_per_j2=growth_left_m4_per_j2(rise_k, c))
    if c.law == LOGARITHMIC:  # its length k F_th0 is that of cold glass
        return warmed._replace(removal_m3_per_j=c.removal_m3_per_j * c.threshold_j_per_m2 / threshold)
    return warmed
