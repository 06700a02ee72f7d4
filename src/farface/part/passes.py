"""Plan the passes that take each shape to its wanted depth, with the focus following the rising floor."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from farface.kernel import Missing, OutOfRange
from farface.part.doubts import doubts_about
from farface.part.duration import passes_duration_s
from farface.part.floor import Etched, floor_depth_m
from farface.part.place import check_place, layout_of_turn_m, layouts_of
from farface.part.shapes import Shape, region_of
from farface.part.stamp import dent_radius_m, line_share
from farface.part.stops import Done, Stop, stops_of
from farface.records import Draft, Pass, PassKind, Plate, Rig, Setting, Wanted

# A part that is cut out before its pockets are etched has moved.
ORDER: Final[dict[PassKind, int]] = {"pocket": 0, "line": 1, "cut": 2}

# A setting that needs more passes than this for a shape removes next to nothing.
MOST_PASSES: Final = 10_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Etching:
    """Hold what a setting does to the glass, as numbers that a model or a measurement gave.

    ``depth_per_pass_m`` is that of a hatch at the setting; ``threshold_share`` is the threshold fluence over
    the absorbed peak fluence (see `farface.part.stamp`); ``index`` is the plate's refractive index.
    ``sure_share`` of the depth per pass is what a cut through the plate is planned for, so that it is surely
    through; ``row_stride`` says which rows of a hatch are fired first, see `farface.part.order`.
    """

    setting: Setting
    depth_per_pass_m: float
    spot_radius_m: float
    threshold_share: float
    index: float
    sure_share: float = 1.0
    row_stride: int = 1

    def depth_m_per_pass(self, kind: PassKind) -> float:
        """Return the depth of one pass: dents overlap both ways in a hatch, along one in a line or cut."""
        if kind == "pocket":
            return self.depth_per_pass_m
        return self.depth_per_pass_m * line_share(
            pitch_m=self.setting.pitch_m,
            spot_radius_m=self.spot_radius_m,
            threshold_share=self.threshold_share,
        )

    @property
    def reach_m(self) -> float:
        """Return how far a point etches around itself."""
        return dent_radius_m(self.spot_radius_m, self.threshold_share)


@dataclass(frozen=True, slots=True, kw_only=True)
class PartPlan:
    """Hold the passes of a part in order, what they are to reach, how long they take, and what to look at.

    ``earlier`` are passes that have been run; they count on into ``passes``. ``steps_m`` is the depth that
    each of both adds, ``reached_m`` that of each shape in the end; ``stops`` are where the depth is read.
    """

    wanted: tuple[Wanted, ...]
    earlier: tuple[Pass, ...] = ()
    passes: tuple[Pass, ...]
    steps_m: tuple[float, ...]
    reached_m: tuple[float, ...]
    stops: tuple[Stop, ...]
    duration_s: float
    warnings: tuple[str, ...]

    @property
    def deepest(self) -> Wanted:
        """Return what is wanted of the deepest pocket or cut, or else of the deepest line."""
        return max(self.wanted, key=lambda goal: (goal.kind != "line", goal.depth_m))

    def depth_of_m(self, shape: str) -> float:
        """Return how deep a shape will lie."""
        return next(m for goal, m in zip(self.wanted, self.reached_m, strict=True) if goal.shape == shape)

    def count(self, shape: str) -> int:
        """Return how many passes over a shape are still to run."""
        return sum(one.shape == shape for one in self.passes)

    def draft(self, *, name: str, rig: Rig, break_risk: float, pierce_risk: float) -> Draft:
        """Make the draft that `farface.safety.gate` judges; the risks are for the whole part."""
        return Draft(
            name=name,
            rig=rig.name,
            invented=rig.invented,
            wanted=self.wanted,
            passes=self.passes,
            duration_s=self.duration_s,
            break_risk=break_risk,
            pierce_risk=pierce_risk,
        )


def plan_part(
    shapes: Sequence[Shape],
    *,
    rig: Rig,
    etching: Etching,
    depth_m: float | None = None,
    tolerance_share: float = 0.1,
    done: Mapping[str, Done] | None = None,
    tabs: int = 0,
) -> PartPlan:
    """Plan every shape, pockets before lines before cuts, each in as many equal passes as its depth needs.

    ``depth_m`` serves shapes whose drawing gives no depth; a cut without one goes through the plate. Depths
    count from the untouched far face: a line on the floor of a pocket starts from there. The number of passes
    is what is left to etch over the depth per pass, rounded up; pulses and energy stay as set. What is
    ``done`` of a shape is kept, and the rest planned from the depth and the depth per pass that were read;
    what comes before such a shape counts as run as planned. Raises `OutOfRange` for a depth that plate, floor
    or setting do not allow and for a shape beyond the field or the plate, `Missing` for a shape without a
    depth.
    """
    ordered = sorted(shapes, key=_turn)
    wanted = tuple(_wanted(shape, rig.plate, depth_m, tolerance_share) for shape in ordered)
    course = _Course(rig=rig, etching=etching, done=done or {}, tabs=tabs)
    last_read = max((at for at, shape in enumerate(ordered) if shape.name in course.done), default=-1)
    for at, (shape, goal) in enumerate(zip(ordered, wanted, strict=True)):
        course.take(shape, goal, run=at < last_read)
    return PartPlan(
        wanted=wanted,
        earlier=tuple(course.earlier),
        passes=tuple(course.passes),
        steps_m=(*course.earlier_steps_m, *course.steps_m),
        reached_m=tuple(one.depth_m for one in course.etched),
        stops=tuple(course.stops),
        duration_s=passes_duration_s(course.passes, rig.scanner),
        warnings=tuple(course.warnings),
    )


@dataclass(slots=True, kw_only=True)
class _Course:
    """Gather the plan shape by shape."""

    rig: Rig
    etching: Etching
    done: Mapping[str, Done]
    tabs: int
    earlier: list[Pass] = field(default_factory=list)
    passes: list[Pass] = field(default_factory=list)
    stops: list[Stop] = field(default_factory=list)
    warnings: list[str] = field(default_factory=list)
    earlier_steps_m: list[float] = field(default_factory=list)
    steps_m: list[float] = field(default_factory=list)
    etched: list[Etched] = field(default_factory=list)

    def take(self, shape: Shape, goal: Wanted, *, run: bool) -> None:
        """Plan one shape: what was run, then the rest with its stops; ``run``: all of it, as planned."""
        start_m = floor_depth_m(shape, self.etched)
        done = self.done.get(shape.name)
        if done is None and run:
            step_m = self.etching.depth_m_per_pass(shape.kind)
            count = pass_count(goal, self.etching, floor_m=start_m, sure_share=self._sure_share(goal))
            done = Done(passes=count, depth_m=start_m + count * step_m, depth_m_per_pass=step_m)
        per_pass_m = self.etching.depth_m_per_pass(shape.kind) if done is None else done.depth_m_per_pass
        before, floor_m = (0, start_m) if done is None else (done.passes, done.depth_m)
        count = (
            _rest(goal, per_pass_m, floor_m, done)
            if done
            else pass_count(goal, self.etching, floor_m=floor_m, sure_share=self._sure_share(goal))
        )
        layouts = self._layouts(shape, max(1, before + count))
        for turn in range(before + count):
            above_m = floor_m + (turn - before) * per_pass_m
            number = len(self.earlier) + len(self.passes) + 1
            above_m = min(above_m, goal.depth_m)
            one = _pass(
                number,
                goal,
                layout_of_turn_m(layouts, turn, passes=before + count, kind=shape.kind),
                self.etching,
                max(0.0, above_m),
            )
            if turn < before:
                self.earlier.append(one)
                self.earlier_steps_m.append((floor_m - start_m) / before)
            else:
                self.passes.append(one)
                self.steps_m.append(per_pass_m)
        rest = self.passes[len(self.passes) - count :]
        self.stops += stops_of(
            goal, shape, rest, start_m=start_m, floor_m=floor_m, per_pass_m=per_pass_m, before=before
        )
        reached_m = floor_m + count * per_pass_m
        self.warnings += doubts_about(
            shape, goal, self.etched, reached_m=reached_m, reach_m=self.etching.reach_m
        )
        self.etched.append(Etched(shape=shape, depth_m=reached_m))

    def _layouts(self, shape: Shape, passes: int) -> tuple[NDArray[np.float64], ...]:
        layouts = layouts_of(
            shape, pitch_m=self.etching.setting.pitch_m, reach_m=self.etching.reach_m, passes=passes,
            row_stride=self.etching.row_stride, tabs=self.tabs,
        )  # fmt: skip
        check_place(shape, layouts, self.rig)
        return layouts

    def _sure_share(self, goal: Wanted) -> float:
        """Count on less than the median where a cut must go through the plate."""
        through = goal.kind == "cut" and goal.depth_m >= self.rig.plate.thickness_m.value
        return self.etching.sure_share if through else 1.0


def _rest(goal: Wanted, per_pass_m: float, floor_m: float, done: Done) -> int:
    """Return the passes that bring a floor that was read nearest the wanted depth; a cut must go through."""
    if not (per_pass_m > 0.0 and math.isfinite(per_pass_m)):
        raise OutOfRange(
            f'after {done.passes} passes "{goal.shape}" was read as {floor_m * 1e6:.3g} um deep, which is no'
            " progress at all. Read again, or see the window for a setting that etches."
        )
    passes = (goal.depth_m - floor_m) / per_pass_m
    return max(0, math.ceil(passes) if goal.kind == "cut" else round(passes))


def pass_count(goal: Wanted, etching: Etching, *, floor_m: float = 0.0, sure_share: float = 1.0) -> int:
    """Return how many passes a depth needs from a floor, rounded up, but not for the rounding of numbers.

    Each counts for ``sure_share`` of its depth.
    """
    if goal.depth_m <= floor_m:
        raise OutOfRange(
            f'"{goal.shape}" is to be {goal.depth_m * 1e6:.4g} um deep, but lies on a floor that is'
            f" {floor_m * 1e6:.4g} um deep already. Depths count from the untouched far face: give more."
        )
    per_pass_m = sure_share * etching.depth_m_per_pass(goal.kind)
    if not (per_pass_m > 0.0 and math.isfinite(per_pass_m)) or goal.depth_m > MOST_PASSES * per_pass_m:
        raise OutOfRange(
            f'the setting etches {per_pass_m * 1e6:.3g} um a pass, so "{goal.shape}" would take more than'
            f" {MOST_PASSES} passes. See the window for a setting that etches."
        )
    return math.ceil((goal.depth_m - floor_m) / per_pass_m - 1e-9)


def _turn(shape: Shape) -> tuple[int, float]:
    """Put pockets before lines before cuts; wide pockets first, but small cuts: one may lie in another."""
    area_m2 = _area_m2(shape)
    return ORDER[shape.kind], area_m2 if shape.kind == "cut" else -area_m2


def _area_m2(shape: Shape) -> float:
    return 0.0 if shape.kind == "line" else float(region_of(shape.paths_m).area)


def _wanted(shape: Shape, plate: Plate, depth_m: float | None, tolerance_share: float) -> Wanted:
    thickness_m = plate.thickness_m.value
    if shape.depth_m is not None:
        depth_m = shape.depth_m
    elif shape.kind == "cut":
        depth_m = thickness_m
    elif depth_m is None:
        raise Missing(
            f'"{shape.name}" has no depth. Give one for all, or set data-depth-um on it in the drawing.'
        )
    if not (depth_m > 0.0 and math.isfinite(depth_m)):
        raise OutOfRange(
            f'the depth of "{shape.name}" is {depth_m * 1e6:g} um; it must be positive.'
            " Give the depth wanted."
        )
    if shape.kind != "cut" and depth_m >= thickness_m:
        raise OutOfRange(
            f'"{shape.name}" is to be {depth_m * 1e6:.4g} um deep, but the plate is'
            f" {thickness_m * 1e6:.4g} um thick. Choose a smaller depth, or cut the outline out."
        )
    return Wanted(shape=shape.name, kind=shape.kind, depth_m=depth_m, tolerance_m=tolerance_share * depth_m)


def _pass(number: int, goal: Wanted, points_m: NDArray[np.float64], etching: Etching, above_m: float) -> Pass:
    return Pass(
        number=number,
        shape=goal.shape,
        kind=goal.kind,
        setting=replace(etching.setting, passes=1),
        points_m=points_m,
        # A lens raised by h / n raises its focus by h inside the glass.
        focus_drop_m=above_m / etching.index,
    )
