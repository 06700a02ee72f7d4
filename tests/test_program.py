"""Programs, tables and strokes of a cleared plan, read back by independent readers."""

import csv
import io
import re
from dataclasses import replace
from itertools import pairwise
from xml.etree import ElementTree

import numpy as np
import polars
import pytest
from hypothesis import given
from hypothesis import strategies as st

from farface.files.plan_svg import plan_svg, strokes
from farface.files.points import passes_csv, points_csv, points_parquet
from farface.files.program import Words, programs
from farface.files.program_reader import read_program
from farface.kernel import Malformed
from farface.part.hatch import hatch_points_m
from farface.part.layouts import distinct_layouts
from farface.safety.gate import Cleared, clear
from plan_records import CONFIRMATION, RIG, SETTING, cleared, draft, rectangle

# Coordinates are written to 0.1 um; half of that, and a little for rounding.
WRITTEN = 0.051e-6

CLEARED = cleared()
LAYOUTS = distinct_layouts(CLEARED.draft.passes)
PROGRAMS = [b"".join(program.text).decode("ascii") for program in programs(CLEARED)]


def rows(table: bytes) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(table.decode())))


def named(name: str) -> Cleared:
    """Clear three points of a shape of that name."""
    one = replace(CLEARED.draft.passes[0], shape=name, points_m=CLEARED.draft.passes[0].points_m[:3])
    plan = replace(CLEARED.draft, name=name, passes=(one,))
    return clear(plan, RIG, CONFIRMATION, accepted_break_risk=0.1, accepted_pierce_risk=0.1)


@pytest.mark.exact
def test_a_program_fires_where_and_as_long_as_its_layout_says() -> None:
    assert len(PROGRAMS) == len(LAYOUTS) == 8  # four hatches, a line and a cut, each with one between
    for text, layout in zip(PROGRAMS, LAYOUTS, strict=True):
        fired = read_program(text)
        assert fired.points_m.shape == layout.points_m.shape
        assert np.abs(fired.points_m - layout.points_m).max() < WRITTEN
        assert fired.dwell_s == pytest.approx(4 / 40e3)


def test_the_laser_is_off_at_every_move_and_at_the_end() -> None:
    for text in PROGRAMS:
        blocks = [line for line in text.splitlines() if line and line[0] not in "(%"]
        assert blocks[:3] == ["M5", "G21", "G90"]
        assert blocks[-2:] == ["M5", "M2"]
        for before, block in pairwise(blocks):
            if block.startswith("G0"):
                assert before in ("G90", "M5")


def test_the_head_says_what_to_set_and_that_data_are_invented() -> None:
    assert "(invented data)" in PROGRAMS[0]
    assert "(set the laser by hand: 200 uJ a pulse at 40.0 kHz, 4 pulses a point)" in PROGRAMS[0]
    assert "(run as pass 5 with the lens 0.0110 mm above its first height)" in PROGRAMS[0]  # 4 x 4 um / 1.46
    assert "confirmed by A. Tester" in PROGRAMS[0]


def test_words_of_another_control_are_used() -> None:
    other = Words(laser_on="M64 P0", laser_off="M65 P0", dwell="G4 X{s}", millimetres="G71")
    text = b"".join(next(programs(CLEARED, other)).text).decode()
    assert "M64 P0\nG4 X0.000100000\nM65 P0\n" in text
    assert "G71" in text
    assert "M3" not in text


@given(st.text(max_size=40))
def test_no_name_can_break_out_of_a_comment(name: str) -> None:
    text = b"".join(next(programs(named(name))).text).decode("ascii")
    assert len(read_program(text).points_m) == 3


def test_only_a_cleared_plan_becomes_a_program() -> None:
    with pytest.raises(TypeError, match="only a plan"):
        next(programs(draft()))  # type: ignore[arg-type]


HEAD = "M5\nG21\nG90\n"


@pytest.mark.parametrize(
    ("text", "complaint"),
    [
        (HEAD + "G0 X1 Y1\nM3\nG4 P0.1\nG0 X2 Y1\nM5\nM2", "line 7 of the program moves with the laser on"),
        (HEAD + "G0 X1 Y1 M3\nG4 P0.1\nM5", "moves with the laser on"),
        ("M5\nG90\nG0 X1 Y1", "before its units are set"),
        (HEAD + "M3\nG4 P0.1\nM5", "before the beam was moved"),
        (HEAD + "G91\nG0 X1 Y1", "not in the dialect"),
        (HEAD + "G0 X1 Y1 ; note", "not in the dialect"),
        (HEAD + "G0 X1 Y1 (open", "not in the dialect"),
    ],
)
def test_the_reader_refuses_a_dangerous_or_strange_program(text: str, complaint: str) -> None:
    with pytest.raises(Malformed, match=complaint):
        read_program(text)


def test_the_reader_stops_at_the_end_of_the_program() -> None:
    text = HEAD + "G0 X1 Y2\nM3\nG4 P0.1\nM5\nM2\nG0 X9 Y9\nM3\nG4 P1\nM5\n"
    assert read_program(text).points_m == pytest.approx(np.array([[1e-3, 2e-3]]))


@pytest.mark.exact
def test_the_tables_give_every_pass_its_points_and_setting() -> None:
    passes, points = rows(passes_csv(CLEARED)), rows(b"".join(points_csv(CLEARED)))
    by_layout: dict[str, list[tuple[float, float]]] = {}
    for row in points:
        by_layout.setdefault(row["layout"], []).append((float(row["x_mm"]), float(row["y_mm"])))
    assert len(passes) == len(CLEARED.draft.passes)
    for row, one in zip(passes, CLEARED.draft.passes, strict=True):
        assert (int(row["pass"]), row["shape"], row["kind"]) == (one.number, one.shape, one.kind)
        assert (row["pulses_per_point"], row["rate_kHz"], row["pulse_energy_uJ"]) == ("4", "40", "200")
        assert float(row["focus_drop_um"]) == pytest.approx(1e6 * one.focus_drop_m, abs=0.005)
        written = 1e-3 * np.array(by_layout[row["layout"]])
        assert int(row["points"]) == len(written)
        assert np.abs(written - one.points_m).max() < WRITTEN


@pytest.mark.exact
def test_the_parquet_table_holds_the_very_points() -> None:
    table = polars.read_parquet(io.BytesIO(points_parquet(CLEARED)))
    for layout in LAYOUTS:
        held = table.filter(polars.col("layout") == layout.number).select("x_m", "y_m").to_numpy()
        assert np.array_equal(held, layout.points_m)


def test_the_tables_say_that_data_are_invented() -> None:
    assert {row["note"] for row in rows(passes_csv(CLEARED))} == {"invented data"}
    notes = [row["note"] for row in rows(b"".join(points_csv(CLEARED)))]
    assert notes[0] == "invented data"
    assert set(notes[1:]) == {""}


def test_a_long_table_is_written_in_pieces_that_join(monkeypatch: pytest.MonkeyPatch) -> None:
    whole = b"".join(points_csv(CLEARED))
    monkeypatch.setattr("farface.files.points._ROWS_AT_ONCE", 7)
    assert b"".join(points_csv(CLEARED)) == whole


@pytest.mark.exact
@pytest.mark.parametrize("angle", [0.0, 0.4, 1.17])
def test_strokes_pass_through_every_point_and_never_across_a_gap(angle: float) -> None:
    from shapely import LineString, MultiLineString, Point, Polygon

    rings = [rectangle(4e-4, 3e-4), rectangle(1e-4, 1e-4)]
    points = hatch_points_m(rings, pitch_m=SETTING.pitch_m, angle_rad=angle)
    drawn = list(strokes(points, pitch_m=SETTING.pitch_m))
    every = MultiLineString([LineString(stroke) for stroke in drawn])
    assert max(every.distance(Point(*point)) for point in points) < 1e-9
    hole = Polygon(rings[1]).buffer(-2.0 * SETTING.pitch_m)
    assert every.intersection(hole).length == 0.0
    assert sum(map(len, drawn)) < len(points) / 3


def test_the_svg_has_the_size_of_the_plate_and_the_place_of_the_points() -> None:
    root = ElementTree.fromstring(plan_svg(CLEARED))
    name = "{http://www.w3.org/2000/svg}"
    assert (root.get("width"), root.get("height")) == ("25mm", "75mm")
    assert "invented data" in "".join(root.itertext())
    groups = root.findall(f"{name}g/{name}g")
    assert [group.get("data-passes") for group in groups][:2] == ["1 5", "2 6"]
    assert root.find(f"{name}g").get("transform") == "translate(12.5 37.5) scale(1 -1)"  # type: ignore[union-attr]
    corners = np.array([
        [float(number) for number in re.split("[ ,]", line.get("points", ""))] for line in groups[4]
        if line.get("points")
    ]).reshape(-1, 2)  # fmt: skip
    assert corners == pytest.approx(np.array([[-1.0, 1.0], [1.0, 1.0]]))
