"""Hold the cell to its geometry: fill, seats, clearances, and panels that fit together."""

import math
from dataclasses import replace
from io import StringIO
from itertools import pairwise
from xml.etree import ElementTree

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import Polygon, box

from farface.files.panels_sheet import lay_side_by_side, panels_dxf, panels_svg
from farface.kernel import OutOfRange
from farface.prepare.cell import WALL_INDEX, CellOrder, camera_stand_m, plan_cell
from farface.prepare.fill import (
    GRAVITY_M_PER_S2,
    Inside,
    fill,
    filling_advice,
    require_room,
    seat_height_m,
)
from farface.prepare.panels import Panel, cell_panels, fingers

AREA_REL = 1e-9  # of a panel's area: corners are laid on a grid of 1 nm
ORDER = CellOrder(
    width_m=60e-3,
    length_m=64e-3,
    height_m=40e-3,
    plate_width_m=50e-3,
    plate_length_m=50e-3,
    thickness_m=1.1e-3,
    front_height_m=13.1e-3,
    sheet_m=4e-3,
    field_m=30e-3,
    cone_slope=0.02,
    liquid_index=1.325,
    absorption_per_m=1000.0,
    deepest_m=0.5e-3,
    bubble_m=0.3e-3,
)
PLAN = plan_cell(ORDER)
INSIDE = Inside(width_m=60e-3, length_m=64e-3, height_m=40e-3, risers_m2=2 * 4e-3 * 64e-3)


def panels(kerf_m: float = 0.0) -> dict[str, Panel]:
    return {panel.name: panel for panel in cell_panels(PLAN, kerf_m=kerf_m)}


# --- fill and seat ------------------------------------------------------------------------------


@pytest.mark.exact
def test_fill_is_the_box_less_the_rails_plus_what_creeps_up_the_walls() -> None:
    found = fill(INSIDE, level_m=12e-3, thickness_m=1.1e-3, density_kg_per_m3=1177.0)
    assert found.volume_m3 - found.meniscus_m3 == pytest.approx((60 * 64 - 2 * 4 * 64) * 12 * 1e-9, rel=1e-12)
    # The weight of what creeps up is what surface tension holds: sigma cos(70 deg) a length of wall.
    weight_n = found.meniscus_m3 * 1177.0 * GRAVITY_M_PER_S2
    assert weight_n == pytest.approx(0.0728 * math.cos(math.radians(70.0)) * 2 * 0.124, rel=1e-12)
    assert found.may_rise_m == 1.1e-3


# A film under a wide plate holds to 2 a cos(theta/2), a = sqrt(sigma / rho g): 4.95 mm here; half is allowed.
@pytest.mark.exact
def test_the_level_may_fall_by_half_of_what_the_film_holds() -> None:
    found = fill(INSIDE, level_m=12e-3, thickness_m=1.1e-3, density_kg_per_m3=1177.0)
    length_m = math.sqrt(0.0728 / 1177.0 / GRAVITY_M_PER_S2)
    assert found.may_fall_m == pytest.approx(length_m * math.cos(math.radians(10.0)), rel=1e-12)
    assert any("2.5 mm below the seat" in line for line in filling_advice(found))
    shallow = fill(INSIDE, level_m=1e-3, thickness_m=1.1e-3, density_kg_per_m3=1177.0)
    assert shallow.may_fall_m == 1e-3


@pytest.mark.exact
def test_two_plates_in_one_cell_differ_by_their_seats() -> None:
    thin = PLAN.for_thickness(0.16e-3)
    assert thin.seat_m - PLAN.seat_m == pytest.approx(0.94e-3, abs=1e-12)
    levels = [
        fill(plan.inside, level_m=plan.seat_m, thickness_m=plan.order.thickness_m, density_kg_per_m3=1177.0)
        for plan in (PLAN, thin)
    ]
    assert levels[1].level_m - levels[0].level_m == pytest.approx(thin.seat_m - PLAN.seat_m)
    assert levels[1].volume_m3 - levels[0].volume_m3 == pytest.approx(0.94e-3 * (60 - 8) * 64e-6, rel=1e-9)
    assert seat_height_m(front_height_m=13.1e-3, thickness_m=1.1e-3) == pytest.approx(12e-3)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"width_m": 50.5e-3}, "50.5 mm wide inside, but the plate is 50.0 mm"),
        ({"length_m": 40e-3}, "40.0 mm long inside, but the plate is 50.0 mm"),
        ({"thickness_m": 14e-3}, "bath must fit below it"),
        ({"height_m": 13e-3}, "13.0 mm high inside"),
        ({"field_m": 45e-3}, "between the rails the plate is free over 44.0 mm"),
        ({"cone_slope": 0.6}, "opening of"),
    ],
)
def test_a_cell_that_cannot_be_is_refused(changes: dict[str, float], words: str) -> None:
    with pytest.raises(OutOfRange, match=words) as refused:
        plan_cell(replace(ORDER, **changes))
    assert "geometry" in str(refused.value) or "common practice" in str(refused.value)


def test_a_cell_smaller_than_its_plate_is_refused() -> None:
    with pytest.raises(OutOfRange, match="geometry, common practice"):
        require_room(
            Inside(width_m=0.02, length_m=0.02, height_m=0.03), plate_width_m=0.05, plate_height_m=0.05
        )


def test_a_level_above_the_rim_is_refused() -> None:
    with pytest.raises(OutOfRange, match=r"40.0 mm high inside"):
        fill(INSIDE, level_m=39.5e-3, thickness_m=1.1e-3, density_kg_per_m3=1177.0)


# --- clearances and camera ----------------------------------------------------------------------


@pytest.mark.exact
def test_clearances_are_what_the_drawing_shows() -> None:
    there = {one.name: one for one in PLAN.clearances}
    assert there["from the plate to the walls"].there_m == pytest.approx(5e-3)
    assert there["from the outermost bubble to rails and walls"].there_m == pytest.approx(7e-3)
    assert there["from the deepest burst to the floor"].there_m == pytest.approx(11.5e-3)
    assert all(one.kept for one in PLAN.clearances)
    assert PLAN.floor_share == pytest.approx(math.exp(-12.0))
    # The opening lets the field and the cone through, with 3 mm around: 30 + 2 (28 x 0.02 + 3) mm.
    assert PLAN.opening_width_m == pytest.approx(30e-3 + 2 * (28e-3 * 0.02 + 3e-3))


@pytest.mark.parametrize(
    ("changes", "name"),
    [
        ({"deepest_m": 11.5e-3}, "from the deepest burst to the floor"),
        ({"bubble_m": 3e-3}, "from the outermost bubble to rails and walls"),
        ({"field_m": 44e-3}, "from the beam to rails and walls, in the bath"),
    ],
)
def test_a_burst_or_beam_near_a_wall_is_told(changes: dict[str, float], name: str) -> None:
    kept = {one.name: one.kept for one in plan_cell(replace(ORDER, **changes)).clearances}
    assert kept[name] is False


@pytest.mark.exact
@given(wall=st.floats(1e-3, 12e-3), liquid=st.floats(0.0, 60e-3))
def test_the_camera_stands_nearer_by_what_wall_and_bath_hide(wall: float, liquid: float) -> None:
    stand = camera_stand_m(working_m=0.1, wall_m=wall, liquid_m=liquid, liquid_index=1.33)
    assert stand + wall / WALL_INDEX + liquid / 1.33 == pytest.approx(0.1)
    assert camera_stand_m(working_m=0.1, wall_m=wall, liquid_m=liquid, liquid_index=1.0) <= stand


def test_a_camera_that_cannot_reach_is_refused() -> None:
    with pytest.raises(OutOfRange, match="geometry"):
        camera_stand_m(working_m=20e-3, wall_m=4e-3, liquid_m=32e-3, liquid_index=1.33)


# --- panels -------------------------------------------------------------------------------------


@pytest.mark.exact
@given(length=st.floats(5e-3, 0.3), start=st.floats(0.0, 0.1))
def test_the_two_sides_of_a_joint_fill_the_edge_once(length: float, start: float) -> None:
    ends = sorted(
        (
            *fingers(start_m=start, length_m=length, first=True),
            *fingers(start_m=start, length_m=length, first=False),
        )
    )
    assert ends[0][0] == start
    assert ends[-1][1] == pytest.approx(start + length)
    assert all(one[1] == pytest.approx(two[0]) for one, two in pairwise(ends))
    assert len(ends) % 2 == 1


@pytest.mark.exact
def test_the_panels_fill_every_joint_once() -> None:
    """Along each edge of the box the two panels' fingers add up to the whole edge, and never meet."""
    found = panels()
    floor, front = found["floor"], found["front wall, to the camera"]
    side = found["left wall"]
    s, wide, high = 4.0, 60.0, 40.0
    pairs = [
        (Polygon(1e3 * floor.outline_m).intersection(box(s, 0, s + wide, s)),
         Polygon(1e3 * front.outline_m).intersection(box(s, 0, s + wide, s)), wide * s),
        (Polygon(1e3 * front.outline_m).intersection(box(0, s, s, s + high)),
         Polygon(1e3 * side.outline_m).intersection(box(0, s, s, s + high)), high * s),
    ]  # fmt: skip
    for one, other, whole in pairs:
        assert one.area + other.area == pytest.approx(whole, rel=1e-6)
        assert one.intersection(other).area == pytest.approx(0.0, abs=1e-6 * whole)
    # Corners at the bottom belong to the floor alone.
    assert Polygon(1e3 * floor.outline_m).intersection(box(0, 0, s, s)).area == pytest.approx(s * s, rel=1e-6)
    assert Polygon(1e3 * front.outline_m).intersection(box(0, 0, s, s)).area == pytest.approx(0.0, abs=1e-6)


@pytest.mark.exact
def test_all_panels_together_have_the_volume_of_the_box() -> None:
    """Floor and walls, each its area times the sheet, fill the outer box less the room inside it."""
    names = ("floor", "front wall, to the camera", "back wall, drain side", "left wall", "right wall")
    found = panels()
    area = sum(Polygon(1e3 * found[name].outline_m).area for name in names)
    outer, inner = 68.0 * 72.0 * 44.0, 60.0 * 64.0 * 40.0
    assert area * 4.0 == pytest.approx(outer - inner, rel=1e-6)


@pytest.mark.exact
def test_half_the_kerf_goes_to_each_side() -> None:
    plain, wider = panels(), panels(kerf_m=0.2e-3)
    for name, panel in plain.items():
        assert wider[name].size_m == pytest.approx(panel.size_m + 0.2e-3, rel=1e-6)
    hole, small = plain["splash cover"].holes_m[0], wider["splash cover"].holes_m[0]
    assert np.ptp(small, axis=0) == pytest.approx(np.ptp(hole, axis=0) - 0.2e-3, rel=1e-6)


def test_the_drawing_carries_seat_level_and_drain() -> None:
    found = panels()
    for side in ("left", "right"):
        assert found[f"{side} rail (seat)"].size_m[1] == pytest.approx(PLAN.seat_m)
    for name, panel in found.items():
        if "wall" in name:
            assert panel.scores_m[0][:, 1] == pytest.approx(4e-3 + PLAN.seat_m)
    assert [name for name, panel in found.items() if panel.holes_m] == [
        "back wall, drain side",
        "splash cover",
    ]
    drain = found["back wall, drain side"].holes_m[0]
    assert drain[:, 1].min() > 4e-3
    assert drain[:, 1].max() < 4e-3 + PLAN.seat_m


@pytest.mark.parametrize(("sheet_m", "kerf_m"), [(1e-3, 0.0), (20e-3, 0.0), (4e-3, 1e-3), (4e-3, -1e-4)])
def test_a_sheet_or_cut_that_does_not_suit_is_refused(sheet_m: float, kerf_m: float) -> None:
    with pytest.raises(OutOfRange, match="common practice"):
        cell_panels(plan_cell(replace(ORDER, sheet_m=sheet_m)), kerf_m=kerf_m)


@pytest.mark.exact
def test_dxf_comes_back_as_it_was_drawn() -> None:
    ezdxf = pytest.importorskip("ezdxf")
    drawn = cell_panels(PLAN)
    document = ezdxf.read(StringIO(panels_dxf(drawn, note="invented data").decode()))
    assert document.units == ezdxf.units.MM
    assert not document.audit().errors
    lines = list(document.modelspace().query('LWPOLYLINE[layer=="CUT"]'))
    assert len(lines) == sum(1 + len(panel.holes_m) for panel in drawn)
    areas = sorted(Polygon([point[:2] for point in line.get_points()]).area for line in lines)
    wanted = sorted(1e6 * Polygon(loop).area for panel in drawn for loop in (panel.outline_m, *panel.holes_m))
    assert areas == pytest.approx(wanted, rel=AREA_REL)
    assert all(line.closed for line in lines)


@pytest.mark.exact
def test_svg_is_at_true_size_and_panels_do_not_overlap() -> None:
    drawn = cell_panels(PLAN)
    root = ElementTree.fromstring(panels_svg(drawn, note="invented data <&>"))
    assert root.get("width", "").endswith("mm")
    assert root.get("viewBox", "").split()[2] == root.get("width", "").removesuffix("mm")
    placed, wide, tall = lay_side_by_side(drawn)
    boxes = [box(p.x_mm, p.y_mm, *(1e3 * p.panel.size_m + [p.x_mm, p.y_mm])) for p in placed]
    assert all(not one.intersects(two) for k, one in enumerate(boxes) for two in boxes[:k])
    assert all(box(0, 0, wide, tall).contains(one) for one in boxes)
    assert "invented data <&>" in "".join(root.itertext())
