"""Take readings of a part's depth on the way, narrow what is believed of it, and say what of it is done."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from farface.app.draws import Draws
from farface.app.part_simulation import Outlook, Spread, spread_of
from farface.files.known_text import read_known
from farface.kernel import Malformed, Missing
from farface.learn.depth import depth_width
from farface.learn.floor import Floor, untouched_floor, with_reading
from farface.part.floor import Etched, floor_depth_m
from farface.part.passes import Etching, PartPlan
from farface.part.shapes import Shape
from farface.part.stops import Done
from farface.records import Wanted

# Error of a reading that states none: 2 um and 4 % by focus travel. Common practice, no source.
USUAL_SD_M: Final = 2e-6
USUAL_SD_SHARE: Final = 0.04
_READING: Final = re.compile(r"(?P<shape>.+?)\s+after\s+(?P<passes>\d{1,5})\s*:\s*(?P<depth>.+)")


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """Hold a depth below the untouched far face, read after so many passes over a shape."""

    shape: str
    passes: int
    depth_m: float
    sd_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Narrowed:
    """Hold what readings taught: floors by shape, what is done of each, and the outlook for the rest."""

    floors: Mapping[str, Floor]
    done: Mapping[str, Done]
    seen: Outlook

    def spread(self, goal: Wanted, passes: int) -> Spread:
        """Return the band of a shape's depth after so many more passes, or that of the outlook."""
        floor = self.floors.get(goal.shape)
        return spread_of(self.seen.depth_per_pass_m if floor is None else floor.after(passes).depth_m)

    def floor(self, goal: Wanted, etching: Etching, plan: PartPlan) -> Floor:
        """Return the floor of a shape as it was read, or as the outlook sees it begin."""
        if goal.shape in self.floors:
            return self.floors[goal.shape]
        rate = self.seen.depth_per_pass_m * etching.depth_m_per_pass(goal.kind) / etching.depth_per_pass_m
        start_m = plan.depth_of_m(goal.shape) - plan.count(goal.shape) * etching.depth_m_per_pass(goal.kind)
        return Floor(depth_m=np.full(rate.shape, max(0.0, start_m)), rate_m_per_pass=rate)


def read_reading(text: str) -> Reading:
    """Read ``SHAPE after PASSES: DEPTH [+/- ERROR]``; the passes are those over this shape.

    Readings at several places are given as their mean. Raises `Malformed` for anything else.
    """
    found = _READING.fullmatch(text.strip())
    if found is None:
        raise Malformed(
            f'"{text}" is no reading. Write the shape, how many passes over it were run, and its depth below'
            ' the untouched face, as in "field after 40: 37 um +/- 2 um".'
        )
    known = read_known(found["depth"], "m", what=f'the depth of "{found["shape"]}"')
    if not known.value > 0.0:
        raise Malformed(f'the depth of "{found["shape"]}" is not positive. Give it from the untouched face.')
    sd_m = known.sd or USUAL_SD_M + USUAL_SD_SHARE * known.value
    return Reading(shape=found["shape"], passes=int(found["passes"]), depth_m=known.value, sd_m=sd_m)


def narrow(
    readings: Sequence[Reading], shapes: Sequence[Shape], draws: Draws, seen: Outlook, etching: Etching,
    rng: np.random.Generator,
) -> Narrowed:  # fmt: skip
    """Follow the floor of every shape that was read through its readings; the last one teaches the others.

    Raises `Missing` for a shape that the drawing does not have, `Malformed` for readings out of order.
    """
    by_name = {shape.name: shape for shape in shapes}
    floors: dict[str, Floor] = {}
    done: dict[str, Done] = {}
    for name in dict.fromkeys(reading.shape for reading in readings):
        if name not in by_name:
            raise Missing(f'"{name}" was read, but the drawing has only: {", ".join(by_name)}.')
        kind = by_name[name].kind
        relative = etching.depth_m_per_pass(kind) / etching.depth_per_pass_m
        earlier = [Etched(shape=by_name[one], depth_m=done[one].depth_m) for one in done]
        pockets = [
            Etched(shape=s, depth_m=s.depth_m or 0.0)
            for s in shapes
            if s.kind == "pocket" and s.name not in done and s.name != name
        ]
        start_m = 0.0 if kind == "pocket" else floor_depth_m(by_name[name], (*earlier, *pockets))
        floor = untouched_floor(relative * seen.depth_per_pass_m, _width(draws, seen), rng)
        floor = replace(floor, depth_m=floor.depth_m + start_m)
        floors[name] = _follow(floor, [one for one in readings if one.shape == name], rng)
        done[name] = _done(floors[name], max(one.passes for one in readings if one.shape == name))
        seen = replace(seen, depth_per_pass_m=floors[name].rate_m_per_pass / relative)
    return Narrowed(floors=floors, done=done, seen=seen)


def _follow(floor: Floor, readings: Sequence[Reading], rng: np.random.Generator) -> Floor:
    passes = 0
    for reading in readings:
        if reading.passes <= passes:
            raise Malformed(
                f'"{reading.shape}" was read after {reading.passes} passes, but also after {passes}.'
                " Give its readings in order, each after more passes over it."
            )
        floor = floor.after(reading.passes - passes)
        floor = with_reading(floor, rng, reading_m=reading.depth_m, sd_m=reading.sd_m)
        passes = reading.passes
    return floor


def _done(floor: Floor, passes: int) -> Done:
    return Done(
        passes=passes, depth_m=float(np.median(floor.depth_m)),
        depth_m_per_pass=float(np.median(floor.rate_m_per_pass)),
    )  # fmt: skip


def _width(draws: Draws, seen: Outlook) -> np.ndarray:
    """Return how depth differs from place to place; once a shape was read, others of the part hardly do."""
    if len(seen.depth_per_pass_m) == len(draws.values):
        return depth_width(draws.values)
    return np.full(len(seen.depth_per_pass_m), 0.0)
