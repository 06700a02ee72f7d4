"""A part's geometry, program and time against a polygon library, a plain control and a stepped clock."""

import math
import re
from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import pyclipper
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from farface.files.program import programs
from farface.part.duration import passes_duration_s
from farface.part.fill import filled_rings
from farface.part.hatch import inset_rings
from farface.part.layouts import distinct_layouts
from farface.part.shapes import Vertices, region_of
from farface.records import Pass, Scanner
from plan_records import RIG, cleared

# The library counts in whole numbers; this many make a metre.
GRID = 1e9
# Its round corners and ours are both polygons, flat to 0.25 % of the distance or less.
FLAT = 0.003
# A program's coordinates are asked to be true to this.
TRUE_M = 1e-6
# An estimate of time is asked to be this near a clock that steps through the program.
TIMED = 0.03
STEP_S = 2e-6


def star(seed: int, *, size_m: float = 1e-3) -> Vertices:
    """Draw an outline that does not cross itself: random distances all around the middle."""
    rng = np.random.default_rng(seed)
    turn = np.sort(rng.uniform(0.0, 2.0 * math.pi, 14))
    return (size_m * rng.uniform(0.4, 1.0, 14))[:, None] * np.column_stack((np.cos(turn), np.sin(turn)))


def whole(ring: Vertices) -> list[tuple[int, int]]:
    return [(round(x * GRID), round(y * GRID)) for x, y in ring.tolist()]


def area_m2(rings: list[list[tuple[int, int]]]) -> float:
    return abs(sum(pyclipper.Area(ring) for ring in rings)) / GRID**2


@pytest.mark.exact
@given(st.integers(0, 10_000), st.floats(-8e-5, 8e-5))
def test_an_offset_has_the_area_that_a_polygon_library_gives(seed: int, inset_m: float) -> None:
    ring = star(seed)
    offset = pyclipper.PyclipperOffset(2.0, 0.0005 * max(abs(inset_m), 1e-6) * GRID)
    offset.AddPath(whole(ring), pyclipper.JT_ROUND, pyclipper.ET_CLOSEDPOLYGON)
    theirs = area_m2(offset.Execute(-inset_m * GRID))
    ours = inset_rings((ring,), inset_m=inset_m)
    around_m = float(np.hypot(*np.diff(np.vstack((ring, ring[:1])), axis=0).T).sum())
    near = FLAT * abs(inset_m) * (around_m + 2.0 * math.pi * abs(inset_m)) + around_m / GRID
    assert (region_of(ours).area if ours else 0.0) == pytest.approx(theirs, abs=near)


@pytest.mark.exact
@given(st.integers(0, 10_000), st.sampled_from(["nonzero", "evenodd"]))
def test_crossing_outlines_fill_what_a_polygon_library_fills(seed: int, rule: str) -> None:
    outlines = [star(seed), star(seed + 1) + np.array([3e-4, 1e-4])]
    clipper = pyclipper.Pyclipper()
    for outline in outlines:
        clipper.AddPath(whole(outline), pyclipper.PT_SUBJECT, True)
    kind = pyclipper.PFT_NONZERO if rule == "nonzero" else pyclipper.PFT_EVENODD
    theirs = area_m2(clipper.Execute(pyclipper.CT_UNION, kind, kind))
    rings = filled_rings(outlines, "nonzero" if rule == "nonzero" else "evenodd")
    assert region_of(rings).area == pytest.approx(theirs, rel=1e-5)


class Control:
    """Walk a program as any control does: modal words, in the order in which the standard executes them."""

    def __init__(self) -> None:
        self.unit_m, self.absolute, self.lit, self.motion = math.nan, True, False, ""
        self.place_m = np.full(2, np.nan)

    def run(self, text: str) -> Iterator[tuple[str, NDArray[np.float64], float]]:
        """Yield every move, with its end, and every dwell, with its time, and check that no move is lit."""
        text = re.sub(r"\([^)]*\)|;.*", "", text)
        for line in filter(None, (line.strip(" %\r") for line in text.splitlines())):
            words = [
                (letter, float(number)) for letter, number in re.findall(r"([A-Za-z])\s*([-+.\d]+)", line)
            ]
            axes = {letter.upper(): value for letter, value in words if letter.upper() in "XY"}
            codes = [f"{letter.upper()}{value:g}" for letter, value in words if letter.upper() in "GM"]
            self._modes(codes)
            if axes:
                assert not self.lit, f"the laser is on during {line}"
                assert self.motion in ("G0", "G1"), line
                yield "move", self._moved(axes), 0.0
            if "G4" in codes:
                yield "dwell", self.place_m.copy(), dict(words)["P"]
            if codes and codes[-1] in ("M2", "M30"):
                assert not self.lit
                return
        pytest.fail("the program has no end")

    def _modes(self, codes: list[str]) -> None:
        for code in codes:
            match code:
                case "G20" | "G70":
                    self.unit_m = 25.4e-3
                case "G21" | "G71":
                    self.unit_m = 1e-3
                case "G90" | "G91":
                    self.absolute = code == "G90"
                case "G0" | "G1":
                    self.motion = code
                case "M3" | "M4" | "M5":
                    self.lit = code != "M5"
                case "G4" | "M2" | "M30":
                    pass
                case _:
                    pytest.fail(f"{code} is no word that a plain control knows")

    def _moved(self, axes: dict[str, float]) -> NDArray[np.float64]:
        for at, letter in enumerate("XY"):
            if letter in axes:
                from_m = 0.0 if self.absolute else self.place_m[at]
                self.place_m[at] = from_m + axes[letter] * self.unit_m
        return self.place_m.copy()


def walked(text: str) -> list[tuple[str, NDArray[np.float64], float]]:
    return list(Control().run(text))


@pytest.mark.exact
def test_a_plain_control_fires_within_a_micrometre_and_never_leaves_the_field() -> None:
    half_m = 0.5 * RIG.scanner.field_m
    for program, layout in zip(programs(cleared()), distinct_layouts(cleared().draft.passes), strict=True):
        steps = walked(b"".join(program.text).decode())
        fired = np.array([place for kind, place, _ in steps if kind == "dwell"])
        assert np.abs(fired - layout.points_m).max() < TRUE_M
        assert np.abs([place for _, place, _ in steps]).max() <= half_m


@pytest.mark.exact
def test_the_estimate_of_time_is_that_of_a_clock_that_steps_through_the_program() -> None:
    passes = cleared().draft.passes
    for program, layout in zip(programs(cleared()), distinct_layouts(passes), strict=True):
        steps = walked(b"".join(program.text).decode())[:400]
        points = sum(kind == "dwell" for kind, _, _ in steps)
        stepped_s = _stepped_s(steps, RIG.scanner)
        one = [_first(layout.passes[0], points)]
        assert passes_duration_s(one, RIG.scanner) == pytest.approx(stepped_s, rel=TIMED)


def _first(one: Pass, points: int) -> Pass:
    return replace(one, points_m=one.points_m[:points])


def _stepped_s(steps: list[tuple[str, NDArray[np.float64], float]], scanner: Scanner) -> float:
    """Drive the beam towards each place in small steps of time, wait until it has settled, then dwell."""
    clock_s, beam_m = 0.0, steps[0][1].copy()
    for kind, place_m, dwell_s in steps:
        waited_s = 0.0
        while kind == "move" and (waited_s < scanner.settle_s or not np.array_equal(beam_m, place_m)):
            away_m = place_m - beam_m
            reach_m = scanner.jump_m_per_s * STEP_S
            far_m = float(np.hypot(*away_m))
            beam_m = place_m.copy() if far_m <= reach_m else beam_m + away_m * reach_m / far_m
            waited_s = waited_s + STEP_S if far_m == 0.0 else 0.0
            clock_s += STEP_S
        clock_s += dwell_s
    return clock_s
