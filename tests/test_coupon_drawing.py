"""Hold lettering, drawing and files to the coupon they show."""

import re
from xml.etree import ElementTree

import numpy as np
import pytest

from farface.coupon.design import factorial, order_trials
from farface.coupon.drawing import coupon_svg
from farface.coupon.layout import CellRoom, Coupon, lay_out
from farface.coupon.lettering import letter_strokes, letter_width_m
from farface.files.coupon_file import write_coupon_svg, write_coupon_template
from farface.files.outcomes_columns import COLUMNS
from farface.files.outcomes_file import read_outcomes, write_outcomes
from farface.kernel import Malformed, Missing
from farface.records import Known, Outcome, Plate, Setting

BASE = Setting(pulse_energy_j=2e-4, rate_hz=40e3, pulses_per_point=4, pitch_m=15e-6, passes=12)
SLIDE = Plate(glass="soda_lime", thickness_m=Known(value=1e-3), width_m=76e-3, height_m=26e-3)
SVG = "{http://www.w3.org/2000/svg}"
WRITTEN_MM = 1e-4  # drawings are written to a tenth of a micrometre


def coupon_of(*, invented: bool = True, name: str = "P7", shape: str = "square") -> Coupon:
    rng = np.random.default_rng(1)
    settings = factorial(BASE, {"pulse_energy_j": (1e-4, 2e-4, 4e-4), "passes": (6, 12)})
    return lay_out(
        order_trials(settings, rng=rng),
        SLIDE,
        name=name,
        invented=invented,
        room=CellRoom(shape=shape),
        rng=rng,
    )


def drawn(coupon: Coupon) -> ElementTree.Element:
    return ElementTree.fromstring(coupon_svg(coupon))


# --- lettering ----------------------------------------------------------------------------------


def test_capitals_stand_on_the_line_as_tall_as_asked() -> None:
    points = np.concatenate(letter_strokes("H", height_m=0.8e-3, x_m=1e-3, y_m=2e-3))
    assert points[:, 1].min() == pytest.approx(2e-3)
    assert points[:, 1].max() == pytest.approx(2.8e-3)
    assert points[:, 0].min() >= 1e-3


def test_every_printable_sign_has_strokes() -> None:
    for code in range(33, 127):
        assert letter_strokes(chr(code), height_m=1e-3), chr(code)


def test_a_longer_label_is_wider() -> None:
    widths_m = [letter_width_m("B10"[:n], height_m=1e-3) for n in (1, 2, 3)]
    assert widths_m == sorted(widths_m) and widths_m[0] > 0.0


@pytest.mark.parametrize("text", ["Pröbe", "B³", "B\n3", "№7", "", "  "])
def test_what_cannot_be_engraved_is_refused_loudly(text) -> None:
    with pytest.raises(Malformed, match="engraved"):
        letter_strokes(text, height_m=1e-3)


# --- drawing ------------------------------------------------------------------------------------


def test_the_drawing_is_to_scale_in_millimetres() -> None:
    root = drawn(coupon_of())
    _, _, view_wide, view_tall = (float(number) for number in root.attrib["viewBox"].split())
    assert root.attrib["width"] == f"{view_wide:g}mm" and root.attrib["height"] == f"{view_tall:g}mm"
    plate = root.find(f"{SVG}rect[@class='coupon-plate']")
    assert plate is not None
    assert float(plate.attrib["width"]) == pytest.approx(76.0, abs=WRITTEN_MM)
    assert float(plate.attrib["height"]) == pytest.approx(26.0, abs=WRITTEN_MM)


def test_each_cell_is_drawn_where_it_lies_and_carries_its_setting() -> None:
    coupon = coupon_of()
    root = drawn(coupon)
    for cell in coupon.cells:
        group = root.find(f"{SVG}g[@id='cell-{cell.label}']")
        assert group is not None
        square = group.find(f"{SVG}rect")
        assert square is not None
        corner_x, corner_y = float(square.attrib["x"]), float(square.attrib["y"])
        assert corner_x == pytest.approx(38.0 + 1e3 * cell.x_m - 1.0, abs=WRITTEN_MM)
        assert corner_y == pytest.approx(13.0 - 1e3 * cell.y_m - 1.0, abs=WRITTEN_MM)
        assert float(group.attrib["data-pulse-energy-uj"]) == pytest.approx(1e6 * cell.setting.pulse_energy_j)
        assert group.attrib["data-order"] == str(cell.order)
        assert int(group.attrib["data-passes"]) == cell.setting.passes


def test_labels_are_strokes_above_their_cells() -> None:
    coupon = coupon_of()
    root = drawn(coupon)
    labels = root.findall(f".//{SVG}path[@class='coupon-label']")
    assert len(labels) == len(coupon.cells) + 1  # and the plate's name
    for cell in coupon.cells:
        path = root.find(f"{SVG}g[@id='cell-{cell.label}']/{SVG}path[@class='coupon-label']")
        assert path is not None
        heights = [float(y) for _, y in re.findall(r"(-?[\d.]+) (-?[\d.]+)", path.attrib["d"])]
        assert max(heights) < 13.0 - 1e3 * cell.y_m - 1.0  # y runs downwards on the sheet


def test_line_cells_are_lines() -> None:
    root = drawn(coupon_of(shape="line"))
    assert not root.findall(f".//{SVG}g/{SVG}rect")
    assert len(root.findall(f".//{SVG}path[@class='coupon-cell']")) == 6


def test_invented_data_say_so_where_they_show() -> None:
    assert coupon_svg(coupon_of()).count("invented data") == 2
    assert "invented" not in coupon_svg(coupon_of(invented=False))


def test_a_name_with_signs_stays_well_formed() -> None:
    words = "".join(drawn(coupon_of(name="P<7> & co")).itertext())
    assert "P<7> & co" in words


# --- files --------------------------------------------------------------------------------------


def test_the_template_is_read_back_as_cells_not_yet_run(tmp_path) -> None:
    coupon = coupon_of()
    path = tmp_path / "outcomes.csv"
    write_coupon_template(path, coupon, sheet_m=170e-6)
    header, *rows = path.read_text("utf-8").splitlines()
    assert tuple(header.split(",")) == COLUMNS
    assert [row.split(",")[1] for row in rows] == [cell.label for cell in coupon.in_run_order()]
    read = read_outcomes(path)
    assert (read.outcomes, read.blank) == ((), len(coupon.cells))


def test_a_filled_table_keeps_cells_and_settings(tmp_path) -> None:
    coupon = coupon_of()
    outcomes = [
        Outcome(plate=coupon.plate, cell=cell.label, order=cell.order, setting=cell.setting, seen="steady")
        for cell in coupon.in_run_order()
    ]
    write_outcomes(tmp_path / "outcomes.csv", outcomes)
    assert read_outcomes(tmp_path / "outcomes.csv").outcomes == tuple(outcomes)


def test_the_drawing_is_written_whole(tmp_path) -> None:
    write_coupon_svg(tmp_path / "coupon.svg", coupon_of())
    assert (tmp_path / "coupon.svg").read_text("utf-8") == coupon_svg(coupon_of())
    with pytest.raises(Missing, match="could not be written"):
        write_coupon_svg(tmp_path / "nowhere" / "coupon.svg", coupon_of())
