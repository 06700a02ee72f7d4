"""Hold the layout to the plate: inside the margin, nothing on top of anything, labels that can be found."""

import itertools

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from farface.coupon.bench_sheet import bench_sheet_rows
from farface.coupon.design import factorial, order_trials
from farface.coupon.layout import (
    CellRoom,
    Coupon,
    cell_label,
    cells_that_fit,
    label_corner_m,
    lay_out,
    name_corner_m,
)
from farface.coupon.lettering import letter_strokes
from farface.kernel import OutOfRange
from farface.records import Known, Plate, Setting

BASE = Setting(pulse_energy_j=2e-4, rate_hz=40e3, pulses_per_point=4, pitch_m=15e-6, passes=12)
SLIDE = Plate(glass="soda_lime", thickness_m=Known(value=1e-3), width_m=76e-3, height_m=26e-3)
ROUNDING_M = 1e-9  # a nanometre: far below what a scanner can place


def coupon_of(count: int, room: CellRoom | None = None, seed: int = 1, **how) -> Coupon:
    rng = np.random.default_rng(seed)
    energies = np.linspace(1e-4, 8e-4, count)
    trials = order_trials(factorial(BASE, {"pulse_energy_j": energies}), rng=rng)
    return lay_out(trials, SLIDE, name="P7", invented=True, room=room or CellRoom(), rng=rng, **how)


def boxes_of(coupon: Coupon) -> list[tuple[float, float, float, float]]:
    """Bound everything that is etched: cells, labels, and the plate's name; left, bottom, right, top."""
    boxes = []
    texts = [(cell.label, label_corner_m(cell, coupon)) for cell in coupon.cells]
    for text, (x_m, y_m) in [*texts, (coupon.plate, name_corner_m(coupon))]:
        points = np.concatenate(letter_strokes(text, height_m=coupon.label_height_m, x_m=x_m, y_m=y_m))
        boxes.append((*points.min(axis=0), *points.max(axis=0)))
    for cell in coupon.cells:
        half_m = 0.5 * cell.size_m
        tall_m = half_m if coupon.shape == "square" else 0.0
        boxes.append((cell.x_m - half_m, cell.y_m - tall_m, cell.x_m + half_m, cell.y_m + tall_m))
    return boxes


def overlap(a, b) -> bool:
    return all(a[i] < b[i + 2] - ROUNDING_M and b[i] < a[i + 2] - ROUNDING_M for i in (0, 1))


@pytest.mark.parametrize("shape", ["square", "line"])
@pytest.mark.parametrize(("count", "columns"), [(1, None), (36, None), (36, 12), (60, 10), (7, 3)])
def test_nothing_overlaps_and_all_lies_inside_the_margin(count, columns, shape) -> None:
    coupon = coupon_of(count, CellRoom(shape=shape), columns=columns)
    boxes = boxes_of(coupon)
    assert not [pair for pair in itertools.combinations(boxes, 2) if overlap(*pair)]
    for left_m, low_m, right_m, high_m in boxes:
        assert min(left_m, -right_m) >= -0.5 * SLIDE.width_m + coupon.margin_m - ROUNDING_M
        assert min(low_m, -high_m) >= -0.5 * SLIDE.height_m + coupon.margin_m - ROUNDING_M


@given(
    size_m=st.floats(0.3e-3, 6e-3),
    spacing_m=st.floats(0.0, 2e-3),
    margin_m=st.floats(0.0, 5e-3),
)
def test_as_many_as_are_said_to_fit_do_fit(size_m, spacing_m, margin_m) -> None:
    room = CellRoom(size_m=size_m, spacing_m=spacing_m, margin_m=margin_m)
    across, down = cells_that_fit(SLIDE, room)
    if across * down == 0 or across * down > 400:
        return
    full = coupon_of(across * down, room, columns=across)
    cells_top_m = max(cell.y_m for cell in full.cells) + 0.5 * size_m
    assert cells_top_m <= 0.5 * SLIDE.height_m - margin_m + ROUNDING_M
    assert (across + 1) * (room.wide_m + spacing_m) - spacing_m > SLIDE.width_m - 2 * margin_m - ROUNDING_M


def test_what_does_not_fit_is_refused_with_how_many_would() -> None:
    room = CellRoom(size_m=4e-3)
    across, down = cells_that_fit(SLIDE, room)
    with pytest.raises(OutOfRange, match=rf"holds {across * down} of them \({across} by {down}\)"):
        coupon_of(across * down + 1, room)
    with pytest.raises(OutOfRange, match="in 40 columns"):
        coupon_of(40, columns=40)


def test_a_small_field_of_the_scanner_counts_too() -> None:
    across, down = cells_that_fit(SLIDE, CellRoom(field_m=11e-3))
    assert (across, down) == (4, 2)


@pytest.mark.parametrize("room", [CellRoom(size_m=0.0), CellRoom(spacing_m=-1e-4), CellRoom(margin_m=-1e-3)])
def test_absurd_measures_are_refused(room) -> None:
    with pytest.raises(OutOfRange, match="cannot be laid out"):
        cells_that_fit(SLIDE, room)


def test_labels_read_like_a_book() -> None:
    coupon = coupon_of(12, columns=4)
    assert [cell.label for cell in coupon.cells[:5]] == ["A1", "A2", "A3", "A4", "B1"]
    first, second, below = coupon.cells[0], coupon.cells[1], coupon.cells[4]
    assert second.x_m > first.x_m and second.y_m == first.y_m
    assert below.y_m < first.y_m and below.x_m == first.x_m


@pytest.mark.parametrize(("row", "label"), [(0, "A3"), (25, "Z3"), (26, "AA3"), (51, "AZ3"), (52, "BA3")])
def test_rows_past_z_go_on(row, label) -> None:
    assert cell_label(row, 2) == label


def test_every_trial_has_one_cell_and_keeps_its_turn() -> None:
    rng = np.random.default_rng(5)
    trials = order_trials(factorial(BASE, {"passes": range(1, 21)}), rng=rng)
    coupon = lay_out(trials, SLIDE, name="P1", invented=True, room=CellRoom(), rng=rng)
    by_turn = {trial.order: trial.setting for trial in trials}
    assert {cell.order: cell.setting for cell in coupon.cells} == by_turn
    assert len({cell.label for cell in coupon.cells}) == 20
    assert [cell.order for cell in coupon.in_run_order()] == list(range(1, 21))


def test_places_are_shuffled_unless_rows_are_asked_for() -> None:
    in_rows = [cell.setting.pulse_energy_j for cell in coupon_of(30, places="in_rows").cells]
    shuffled = [cell.setting.pulse_energy_j for cell in coupon_of(30).cells]
    assert in_rows == sorted(in_rows)
    assert shuffled != in_rows and sorted(shuffled) == in_rows


def test_the_bench_sheet_runs_in_order_and_marks_new_blocks() -> None:
    rng = np.random.default_rng(2)
    settings = factorial(BASE, {"focus_offset_m": (-1e-4, 0.0, 1e-4)})
    trials = order_trials(settings, replicates=2, blocks=2, rng=rng)
    rows = bench_sheet_rows(lay_out(trials, SLIDE, name="P1", invented=True, room=CellRoom(), rng=rng))
    assert [row.order for row in rows] == [1, 2, 3, 4, 5, 6]
    assert [row.starts_block for row in rows] == [True, False, False, True, False, False]
    assert {row.focus for row in rows} == {"on the far face", "100 um into the bath", "100 um into the glass"}
    assert (rows[0].pulse_energy, rows[0].rate, rows[0].pitch) == ("200 uJ", "40.0 kHz", "15.0 um")
