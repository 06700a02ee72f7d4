"""The library: everything of the loop in memory, without bench or journal, for scripts and notebooks.

Everything is in SI; `farface.setting` and the axes of `Model.window` also read quantities as people write
them. What `import farface` offers is listed in ``farface.__all__``, and loads when it is first used.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from farface.app.axis import axis_of
from farface.app.draws import DRAWS, Draws
from farface.app.part_simulation import DepthBand, outlook, simulate_band, spread_of
from farface.app.settings import Typed, setting_of
from farface.coupon.design import factorial
from farface.etch.bench import EtchBench, etch_bench
from farface.etch.explain import Explanation, explain
from farface.etch.unknowns import draw_prior, unknowns
from farface.etch.window import Window, window
from farface.files.bath_file import read_bath
from farface.files.drawing import read_drawing
from farface.files.film import open_film
from farface.files.outcomes_file import read_outcomes as read_outcomes_file
from farface.files.rig_file import read_rig
from farface.footage.face import find_face
from farface.footage.read import read_footage
from farface.kernel import Missing
from farface.learn.film import Film
from farface.learn.goal import Goal
from farface.learn.next_cells import Proposal, propose
from farface.learn.plates import on_next_plate
from farface.learn.posterior import STEPS, fit
from farface.materials import glass
from farface.part.passes import PartPlan, plan_part
from farface.part.shapes import Drawing
from farface.records import Bath, FilmReading, FilmScale, Outcome, Rig, Setting

__all__ = ["Film", "Model", "PlannedPart", "factorial", "read_bath", "read_drawing", "read_film",
           "read_outcomes", "read_rig", "setting"]  # fmt: skip
FACE_FRAMES = 200


def setting(
    rig: Rig,
    *,
    energy: str | None = None,
    rate: str | None = None,
    pulses: int | None = None,
    pitch: str | None = None,
    passes: int | None = None,
    focus: str | None = None,
) -> Setting:
    """Make a setting from quantities as people write them, such as ``"300 uJ"``; the rig fills in the rest.

    Raises `Malformed` for a text that is no quantity, `OutOfRange` for what the laser cannot give.
    """
    typed = Typed(energy=energy, rate=rate, pulses=pulses, pitch=pitch, passes=passes, focus=focus)
    return setting_of(rig, typed)


def read_outcomes(path: Path) -> tuple[Outcome, ...]:
    """Read the filled CSV of a coupon; raises `Malformed` with the row at fault."""
    return read_outcomes_file(path).outcomes


def read_film(
    path: Path, *, frame_hz: float, exposure_s: float, pixel_m: float, face_row_px: float | None = None
) -> FilmReading:
    """Read the flashes and bubbles of a film; the far face is found in the first frames unless it is given.

    Raises `Missing` for a film without frames and `Malformed` for one that cannot be read. Takes as long
    as decoding the film, and little more.
    """
    film = open_film(path)
    slope = 0.0
    if face_row_px is None:
        first = [frame for frame, _ in zip(film.frames(), range(FACE_FRAMES), strict=False)]
        if not first:
            raise Missing(f"{path.name} has no frame that can be read. Copy it again from the camera.")
        face = find_face(np.stack(first))
        face_row_px, slope = face.row_px, face.slope
    scale = FilmScale(
        frame_hz=frame_hz, exposure_s=exposure_s, pixel_m=pixel_m, face_row_px=face_row_px, face_slope=slope
    )
    return read_footage(film.frames(), scale, path.name)


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedPart:
    """Hold the passes of a part with the depth to expect, and the odds that the plate breaks."""

    plan: PartPlan
    depth: DepthBand
    break_risk: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Model:
    """Hold what is believed of a bench: ``draws`` of the unknowns, shape (draw, unknown), and on what basis.

    Make one with `Model.start`; `Model.learn` gives the next. Random draws come from ``seed``, so that the
    same calls give the same numbers.
    """

    rig: Rig
    bath: Bath
    draws: NDArray[np.float64]
    calibrated: bool
    seed: int

    @classmethod
    def start(cls, rig: Rig, bath: Bath, *, draws: int = DRAWS, seed: int = 1) -> "Model":
        """Believe what is known before any plate: the prior."""
        etch = etch_bench(rig, bath)
        drawn = draw_prior(etch, draws, np.random.default_rng(seed))
        return cls(rig=rig, bath=bath, draws=drawn, calibrated=False, seed=seed)

    @property
    def names(self) -> tuple[str, ...]:
        """Name the unknowns, in the order of the columns of ``draws``."""
        return tuple(one.name for one in unknowns(self._etch()))

    def window(self, around: Setting, *, x: str = "energy", y: str = "pulses", points: int = 24) -> Window:
        """Map two settings around one; an axis is a name, or ``"energy=50 uJ..600 uJ"``.

        A setting and draw take about 12 us of one core.
        """
        axes = (axis_of(self.rig, around, text, points=points) for text in (x, y))
        across, up = axes
        return window(self._etch(), around, self.draws, x=across, y=up)

    def explain(self, setting: Setting) -> Explanation:
        """Follow one setting from the light to the margin, with what it hangs on."""
        return explain(self._etch(), setting, self.draws)

    def learn(
        self, outcomes: Sequence[Outcome] = (), films: Sequence[Film] = (), *, steps: int = STEPS
    ) -> "Model":
        """Fit outcomes and films from the prior on; 36 cells take some 20 s of processor time.

        Give all that was seen so far: nothing is kept from an earlier fit. Raises `Missing` without any.
        """
        if not outcomes and not films:
            raise Missing("there is nothing to learn from. Give outcomes or films.")
        posterior = fit(self._etch(), outcomes, films, self._rng(), steps=steps)
        count = min(len(self.draws), len(posterior.draws))
        chosen = np.linspace(0, len(posterior.draws) - 1, count).round().astype(int)
        return replace(self, draws=posterior.draws[chosen], calibrated=True)

    def next_cells(
        self, candidates: Sequence[Setting], *, count: int, accepted_risk: float, depth_m: float,
        passes_at_most: int = 300,
    ) -> tuple[Proposal, ...]:  # fmt: skip
        """Choose the candidates that would teach most on a new plate, none riskier than accepted."""
        goal = Goal(depth_m=depth_m, passes_at_most=passes_at_most)
        values = on_next_plate(self.draws, self._rng())
        return propose(self._etch(), values, candidates, count=count, accepted_risk=accepted_risk, goal=goal)

    def plan(self, drawing: Drawing, setting: Setting, *, depth_m: float | None = None) -> PlannedPart:
        """Plan the passes of a drawing at a setting and simulate them; nothing is cleared for a machine.

        ``depth_m`` serves shapes that carry no depth. Raises `OutOfRange` for a depth or a place that plate,
        rig or setting do not allow.
        """
        etch = self._etch()
        draws = Draws(values=self.draws, calibrated=self.calibrated)
        seen = outlook(etch, draws, setting, self._rng())
        etching = seen.etching(setting, glass(self.rig.plate.glass).index(self.rig.laser.wavelength_m))
        plan = plan_part(drawing.shapes, rig=self.rig, etching=etching, depth_m=depth_m)
        most = max(sum(one.shape == goal.shape for one in plan.passes) for goal in plan.wanted)
        return PlannedPart(
            plan=plan,
            depth=simulate_band(plan, spread_of(seen.depth_per_pass_m), etching),
            break_risk=outlook(etch, draws, setting, self._rng(), passes=most).broken,
        )

    def _etch(self) -> EtchBench:
        return etch_bench(self.rig, self.bath)

    def _rng(self) -> np.random.Generator:
        return np.random.default_rng(self.seed)
