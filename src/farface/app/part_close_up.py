"""Look closely at the place of a part that is likeliest to run hot, and say what was seen."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from farface.app.answer import Json, show_band, show_odds
from farface.app.crew import Crew
from farface.app.draws import Draws
from farface.app.workbench import Workbench
from farface.etch.bench import EtchBench
from farface.files.close_up_picture import close_up_png
from farface.materials import glass
from farface.part.close_up import CloseUp, DrawResult, Scene, Spread, Turn, look_closely, scene_at
from farface.part.passes import PartPlan
from farface.part.shapes import Shape
from farface.report.content import Picture

SIDE_M: Final = 0.36e-3
# The square shows a corner with this share of its side outside the shape.
OUTSIDE_SHARE: Final = 0.15


@dataclass(frozen=True, slots=True, kw_only=True)
class Close:
    """Hold what was seen in a square of the part, and the picture of it."""

    shape: str
    seen: CloseUp
    png: bytes

    @property
    def picture(self) -> Picture:
        """Return the picture with what it shows."""
        return Picture(
            caption=f'A corner of "{self.shape}", {SIDE_M * 1e3:g} mm wide, fired pulse by pulse: '
            "depth with its band, heat met, margin from running away, and the clock.",
            png=self.png, alt="close-up of depth, heat, margin and time",
        )  # fmt: skip

    def sentences(self) -> tuple[str, ...]:
        """Say depth, heat, margin and odds of a pit, beside what the plates taught."""
        low, median, high = (
            _floor_m(depth) for depth in (self.seen.low_m, self.seen.median_m, self.seen.high_m)
        )
        return (
            f'Fired pulse by pulse, a corner of "{self.shape}" comes to {show_band(median, low, high, "m")}, '
            "its deposit's build-up included. How many passes are planned rests on what the plates taught.",
            f"Most heat left over {float(np.nanmax(self.seen.rise_k)):.0f} K, least margin from running "
            f"away {float(np.nanmin(self.seen.margin_low)):.2g} (95 % of the draws exceed it), "
            f"odds of a pit {show_odds(self.seen.pit_odds)}.",
        )

    def data(self) -> dict[str, Json]:
        """Return the same as numbers in SI."""
        return {
            "shape": self.shape, "pulses": self.seen.pulses, "pit_odds": self.seen.pit_odds,
            "floor_low_m": _floor_m(self.seen.low_m), "floor_median_m": _floor_m(self.seen.median_m),
            "floor_high_m": _floor_m(self.seen.high_m), "hottest_k": float(np.nanmax(self.seen.rise_k)),
            "least_margin": float(np.nanmin(self.seen.margin_low)),
        }  # fmt: skip


def close_up(
    work: Workbench, etch: EtchBench, draws: Draws, shapes: tuple[Shape, ...], plan: PartPlan, *, count: int,
    crew: Crew,
) -> Close:  # fmt: skip
    """Fire a corner of the deepest shape under ``count`` of the draws; about 0.2 s a draw for 100 passes."""
    deepest = max(plan.wanted, key=lambda goal: (goal.kind == "pocket", goal.depth_m)).shape
    (shape,) = (one for one in shapes if one.name == deepest)
    chosen = np.linspace(0, len(draws.values) - 1, min(count, len(draws.values))).round().astype(int)
    scene = scene_at(
        etch, plan.passes, work.rig.scanner, draws.values[chosen], middle_m=_corner_m(shape), side_m=SIDE_M,
        index=glass(work.rig.plate.glass).index(work.rig.laser.wavelength_m),
    )  # fmt: skip
    seen = look_closely(scene, work.rng(), spread_over(crew))
    png = close_up_png(seen, title=f'a corner of "{deepest}"', invented=work.invented)
    return Close(shape=deepest, seen=seen, png=png)


def spread_over(crew: Crew) -> Spread:
    """Give the draws to a crew; the scene travels once."""

    def spread(scene: Scene, turns: Sequence[Turn]) -> Sequence[DrawResult]:
        there = crew.submit(_arrived, scene)
        return [asked.result() for asked in [crew.submit(Scene.run, there, turn) for turn in turns]]

    return spread


def _arrived(scene: Scene) -> Scene:
    return scene


def _corner_m(shape: Shape) -> tuple[float, float]:
    """Return the middle of a square that shows the corner furthest from the shape's middle."""
    ring = shape.paths_m[0]
    middle = 0.5 * (ring.min(axis=0) + ring.max(axis=0))
    corner = ring[np.argmax(np.abs(ring - middle).sum(axis=1))]
    inwards = np.sign(middle - corner) * (0.5 - OUTSIDE_SHARE) * SIDE_M
    x, y = corner + np.where(np.abs(middle - corner) < np.abs(inwards), middle - corner, inwards)
    return float(x), float(y)


def _floor_m(depth_m: np.ndarray) -> float:
    """Return the median depth of the cells that are deeper than half the deepest."""
    return float(np.median(depth_m[depth_m >= 0.5 * depth_m.max()]))
