"""What a coupon's passes fire, and what its files for other programs hold."""

import io
from dataclasses import replace

import ezdxf
import numpy as np
import pytest

from bench_records import RIG
from farface.coupon.design import deal, factorial, order_trials
from farface.coupon.layout import CellRoom, Coupon, lay_out
from farface.coupon.passes import LABELS, cell_points_m, coupon_passes, label_points_m
from farface.files.coupon_dxf import coupon_dxf
from farface.files.plan_dxf import plan_dxf
from farface.files.program import programs
from farface.files.program_reader import read_program
from farface.kernel import OutOfRange
from farface.records import Draft, Setting
from farface.safety.gate import clear
from plan_records import CONFIRMATION

BASE = Setting(pulse_energy_j=2e-4, rate_hz=40e3, pulses_per_point=4, pitch_m=20e-6, passes=3)
ENGRAVING = replace(BASE, pulse_energy_j=1e-4, passes=2)
ROUNDING_M = 1e-9


def coupon_of(shape: str = "square", size_m: float = 2e-3) -> Coupon:
    rng = np.random.default_rng(1)
    trials = order_trials(factorial(BASE, {"pulse_energy_j": (1e-4, 2e-4), "passes": (3, 5)}), rng=rng)
    room = CellRoom(shape=shape, size_m=size_m)
    return lay_out(trials, RIG.plate, name="P7", invented=True, room=room, rng=rng)


def cleared_of(coupon: Coupon):
    passes = coupon_passes(coupon, engraving=ENGRAVING, index=1.5)
    draft = Draft(
        name=f"coupon {coupon.plate}", rig=RIG.name, invented=True, wanted=(), passes=passes, duration_s=1.0,
        break_risk=0.2, pierce_risk=0.0,
    )  # fmt: skip
    return clear(draft, RIG, CONFIRMATION, accepted_break_risk=0.3, accepted_pierce_risk=0.3)


@pytest.mark.exact
def test_a_square_cell_is_a_grid_a_line_a_row_and_a_round_one_its_circle() -> None:
    for shape, count in (("square", 101**2), ("line", 101)):
        coupon = coupon_of(shape)
        assert len(cell_points_m(coupon.cells[0], shape)) == count
    cell = coupon_of("round").cells[0]
    points_m = cell_points_m(cell, "round")
    away_m = np.hypot(*(points_m - np.array([cell.x_m, cell.y_m])).T)
    assert away_m.max() <= 1e-3 + ROUNDING_M
    # Points a pitch apart count the area: pi / 4 of the square's, to the rim's share of points.
    assert len(points_m) == pytest.approx(np.pi / 4 * 100**2, rel=0.01)


def test_lines_run_one_way_a_pitch_apart() -> None:
    cell = coupon_of().cells[0]
    points_m = cell_points_m(cell, "square").reshape(101, 101, 2)
    assert np.allclose(np.diff(points_m[..., 0], axis=1), BASE.pitch_m)
    assert np.allclose(np.diff(points_m[..., 1], axis=0), BASE.pitch_m)
    assert points_m.mean(axis=(0, 1)) == pytest.approx([cell.x_m, cell.y_m])


def test_cells_are_fired_in_their_turns_with_all_their_passes_and_labels_last() -> None:
    coupon = coupon_of()
    passes = coupon_passes(coupon, engraving=ENGRAVING, index=1.5)
    assert [one.number for one in passes] == list(range(1, len(passes) + 1))
    fired = list(dict.fromkeys(one.shape for one in passes))
    assert fired == [*(cell.label for cell in coupon.in_run_order()), LABELS]
    for cell in coupon.cells:
        own = [one for one in passes if one.shape == cell.label]
        assert len(own) == cell.setting.passes
        assert {one.setting for one in own} == {replace(cell.setting, passes=1)}
        assert len({id(one.points_m) for one in own}) == 1  # so that a program is written once
    assert sum(one.shape == LABELS for one in passes) == ENGRAVING.passes


def test_the_lens_stands_back_for_a_focus_inside_the_glass() -> None:
    rng = np.random.default_rng(1)
    trials = order_trials(factorial(BASE, {"focus_offset_m": (-1.5e-4, 0.0)}), rng=rng)
    coupon = lay_out(trials, RIG.plate, name="P7", invented=True, room=CellRoom(), rng=rng)
    drops_m = {one.focus_drop_m for one in coupon_passes(coupon, engraving=ENGRAVING, index=1.5)}
    assert sorted(drops_m) == pytest.approx([0.0, 1e-4])


def test_labels_stay_off_the_cells_and_inside_the_margin() -> None:
    coupon = coupon_of("round")
    points_m = label_points_m(coupon, pitch_m=BASE.pitch_m)
    assert np.abs(points_m[:, 0]).max() < 0.5 * coupon.width_m - coupon.margin_m
    for cell in coupon.cells:
        assert np.hypot(*(points_m - np.array([cell.x_m, cell.y_m])).T).min() > 0.5 * cell.size_m


def test_programs_fire_every_cell_where_it_lies() -> None:
    coupon = coupon_of()
    texts = ["".join(piece.decode() for piece in one.text) for one in programs(cleared_of(coupon))]
    assert len(texts) == len(coupon.cells) + 1
    for cell, text in zip(coupon.in_run_order(), texts, strict=False):
        fired = read_program(text)
        wanted_m = cell_points_m(cell, "square")
        assert fired.points_m == pytest.approx(wanted_m, abs=1e-7)
        assert fired.dwell_s == pytest.approx(np.full(len(wanted_m), 4 / 40e3), abs=1e-9)
        assert f"shape {cell.label}, pocket" in text and "invented data" in text


@pytest.mark.parametrize(
    ("shape", "entity"), [("square", "LWPOLYLINE"), ("round", "CIRCLE"), ("line", "LINE")]
)
def test_the_drawing_exchange_holds_cells_labels_and_edges_to_scale(shape: str, entity: str) -> None:
    coupon = coupon_of(shape)
    document = ezdxf.read(io.StringIO(coupon_dxf(coupon).decode()))
    assert document.units == ezdxf.units.MM
    cells = [e for e in document.modelspace() if e.dxf.layer == "CELLS"]
    assert {e.dxftype() for e in cells} == {entity} and len(cells) == len(coupon.cells)
    (edge,) = (e for e in document.modelspace() if e.dxf.layer == "PLATE")
    corners = np.array([point[:2] for point in edge.get_points()])
    assert np.ptp(corners, axis=0) == pytest.approx([1e3 * coupon.width_m, 1e3 * coupon.height_m])
    assert any(e.dxf.layer == "LABELS" for e in document.modelspace())
    words = [e.dxf.text for e in document.modelspace() if e.dxftype() == "TEXT"]
    assert "invented data" in words[0]


def test_strokes_of_a_cleared_plan_as_drawing_exchange() -> None:
    coupon = coupon_of()
    document = ezdxf.read(io.StringIO(plan_dxf(cleared_of(coupon)).decode()))
    pockets = [e for e in document.modelspace() if e.dxf.layer == "POCKET"]
    assert len(pockets) == 101 * len(coupon.cells)  # a stroke for each row
    reach_mm = max(abs(x) for e in pockets for x, *_ in e.get_points())
    assert reach_mm == pytest.approx(1e3 * (max(abs(c.x_m) for c in coupon.cells) + 1e-3), abs=1e-3)


# --- several plates -----------------------------------------------------------------------------


def test_repeats_are_shared_out_so_that_every_plate_holds_every_setting() -> None:
    settings = factorial(BASE, {"passes": (1, 2, 3, 4, 5)})
    dealt = deal(settings, plates=2, replicates=4, rng=np.random.default_rng(1))
    assert dealt == ((settings, 2), (settings, 2))


def test_else_every_setting_goes_to_one_plate() -> None:
    settings = factorial(BASE, {"passes": (1, 2, 3, 4, 5)})
    dealt = deal(settings, plates=2, replicates=1, rng=np.random.default_rng(1))
    assert [len(own) for own, _ in dealt] == [3, 2]
    assert {s for own, _ in dealt for s in own} == set(settings)
    with pytest.raises(OutOfRange, match="fewer plates"):
        deal(settings, plates=6, replicates=1, rng=np.random.default_rng(1))
