"""Simulate the depth map of a plan under the draws, and its risks."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from farface.app.draws import Draws
from farface.etch.bench import EtchBench
from farface.etch.forecast import forecast
from farface.etch.outcome_odds import BROKEN, RUNAWAY
from farface.etch.unknowns import DEPTH_SCATTER, SPOT, THRESHOLD
from farface.etch.window import BAND
from farface.kernel import OutOfRange
from farface.learn.floor import Floor
from farface.part.depth_map import DepthMap
from farface.part.passes import Etching, PartPlan
from farface.part.simulate import simulate_depth_map
from farface.part.stamp import peak_depth_m
from farface.records import Known, Pass, Setting

# A map finer than half a dent's radius shows nothing more; a wider part gets a coarser one, up to this many.
MOST_CELLS_ACROSS: Final = 1600


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """Hold what multiplies a median depth at the ends of its 90 % band."""

    low_share: float
    high_share: float


@dataclass(frozen=True, slots=True, kw_only=True)
class DepthBand:
    """Hold the median depth map, and what multiplies it at the ends of the 90 % band.

    Every dent of a plan scales alike with the removal, so the whole map does.
    """

    median: DepthMap
    low_share: float
    high_share: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Outlook:
    """Hold what the draws say of a setting: depths per pass (draw,), and the odds of losing the part."""

    depth_per_pass_m: NDArray[np.float64]
    threshold_share: float
    spot_radius_m: float
    broken: float
    runaway: float

    def etching(self, setting: Setting, index: float) -> Etching:
        """Return the median as the planner takes it."""
        return Etching(
            setting=setting,
            depth_per_pass_m=float(np.median(self.depth_per_pass_m)),
            spot_radius_m=self.spot_radius_m,
            threshold_share=self.threshold_share,
            index=index,
            sure_share=spread_of(self.depth_per_pass_m).low_share,
        )


def outlook(
    etch: EtchBench, draws: Draws, setting: Setting, rng: np.random.Generator, *, passes: int = 1
) -> Outlook:
    """Forecast a setting for a part; the scatter of a cell's depth is drawn on top of the unknowns."""
    result = forecast(etch, [replace(setting, passes=passes)], draws.values)
    absorbed = result.quantity("absorptance")[:, 0] * result.quantity("fluence_j_per_m2")[:, 0]
    threshold = draws.values[:, THRESHOLD]
    etching = absorbed > threshold
    if etching.mean() < 0.5:
        raise OutOfRange(
            "under most draws this setting removes no glass. Choose more energy, or see the window for a "
            "setting that etches."
        )
    scatter = np.exp(draws.values[:, DEPTH_SCATTER] * rng.standard_normal(len(draws.values)))
    odds = result.odds.mean(axis=(0, 1))
    return Outlook(
        depth_per_pass_m=result.quantity("depth_per_pass_m")[:, 0] * scatter,
        threshold_share=float(np.median(threshold[etching] / absorbed[etching])),
        spot_radius_m=float(np.median(draws.values[:, SPOT])),
        broken=float(odds[BROKEN]),
        runaway=float(odds[RUNAWAY]),
    )


def simulate_band(plan: PartPlan, spread: Spread, etching: Etching) -> DepthBand:
    """Stamp all dents once, those that were run included; the band scales the whole map."""
    passes = (*plan.earlier, *plan.passes)
    peak_of_hatch = peak_depth_m(
        1.0,
        pitch_m=etching.setting.pitch_m,
        spot_radius_m=etching.spot_radius_m,
        threshold_share=etching.threshold_share,
    )
    hatched = [
        step_m * etching.depth_per_pass_m / etching.depth_m_per_pass(one.kind)
        for step_m, one in zip(plan.steps_m, passes, strict=True)
    ]
    return DepthBand(
        median=simulate_depth_map(
            passes,
            [peak_of_hatch * depth_m for depth_m in hatched],
            spot_radius_m=etching.spot_radius_m,
            threshold_share=etching.threshold_share,
            cell_m=_cell_m(passes, etching),
        ),
        low_share=spread.low_share,
        high_share=spread.high_share,
    )


def spread_of(depths_m: NDArray[np.float64]) -> Spread:
    """Return what multiplies the median of depths at the ends of their 90 % band."""
    low, median, high = np.quantile(depths_m, (BAND[0], 0.5, BAND[1]))
    return Spread(low_share=float(low / median), high_share=float(high / median))


def depth_at_m(depths: DepthMap, points_m: NDArray[np.float64]) -> float:
    """Return the median depth at points, shape (points, 2)."""
    columns, rows = np.rint((points_m - np.array(depths.origin_m)) / depths.cell_m).astype(int).T
    return float(np.median(depths.depth_m[rows, columns]))


def pierce_risk(plan: PartPlan, seen: Outlook, *, thickness_m: float) -> float:
    """Return the odds that a blind shape goes through: a runaway, or a depth past the plate."""
    ends = zip(plan.wanted, plan.reached_m, strict=True)
    deepest_m = max((reached_m for goal, reached_m in ends if goal.kind != "cut"), default=0.0)
    if deepest_m == 0.0:
        return 0.0
    depths_m = deepest_m * seen.depth_per_pass_m / np.median(seen.depth_per_pass_m)
    return min(1.0, seen.runaway + float((depths_m > thickness_m).mean()))


def through_odds(floor: Floor, passes: int, thickness_m: Known, *, runaway: float) -> NDArray[np.float64]:
    """Return the odds that a floor is through the plate after 0 .. ``passes`` passes, shape (passes + 1,).

    The plate's thickness is uncertain, normally; a runaway goes through at any pass, evenly over them.
    """
    from scipy.special import ndtr

    count = np.arange(passes + 1)
    depths_m = floor.depth_m + count[:, None] * floor.rate_m_per_pass
    deep_enough = ndtr((depths_m - thickness_m.value) / max(thickness_m.sd, 1e-7)).mean(axis=1)
    return np.asarray(1.0 - (1.0 - deep_enough) * (1.0 - runaway * count / max(passes, 1)))


def _cell_m(passes: Sequence[Pass], etching: Etching) -> float:
    corners = np.array([(one.points_m.min(axis=0), one.points_m.max(axis=0)) for one in passes])
    across_m = float((corners[:, 1].max(axis=0) - corners[:, 0].min(axis=0)).max())
    return min(max(0.5 * etching.reach_m, across_m / MOST_CELLS_ACROSS), etching.reach_m)
