"""Walk the preparing commands as a person types them: what they say, write, record and refuse."""

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from typer.testing import CliRunner

from demo_bench import demo_bench
from farface.app.workbench import open_workbench
from farface.cli.main import app
from farface.files.bench_folder import Bench
from farface.kernel import FarfaceError, Malformed, Missing, NotConverged, OutOfRange, Refused
from farface.optics.knife_edge import passed_share


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Bench:
    return demo_bench(tmp_path_factory.mktemp("prepare") / "bench")


def told(bench: Bench, *arguments: str) -> dict[str, Any]:
    """Run a command and return its JSON."""
    done = CliRunner().invoke(app, [*arguments, "--bench", str(bench.folder), "--json"])
    assert done.exception is None, done.exception
    return json.loads(done.stdout)


def refused(bench: Bench, *arguments: str) -> FarfaceError:
    """Run a command that must be refused and return its error."""
    done = CliRunner().invoke(app, [*arguments, "--bench", str(bench.folder)])
    assert isinstance(done.exception, FarfaceError), done.exception
    return done.exception


def kinds(bench: Bench) -> list[str]:
    with open_workbench(bench.folder) as work:
        return [record.kind for record in work.journal.all()]


def test_preparing_goes_through_everything_and_says_what_is_open(bench: Bench) -> None:
    found = told(bench, "prepare")
    assert found["data"]["refused"] == []
    assert "hazard items are unanswered" in found["sentences"][-1]
    assert {Path(name).name for name in found["files"]} >= {"cell-panels.dxf", "set-up-sheet.html"}
    assert all(Path(name).exists() for name in found["files"])
    assert {"recipe", "wear", "cell", "focus", "hazards", "chemicals", "sheets", "prepared"} <= set(
        kinds(bench)
    )


def test_a_bench_that_cannot_be_prepared_says_so_and_goes_on(tmp_path: Path) -> None:
    small = demo_bench(tmp_path / "bench")
    small.rig.write_text(small.rig.read_text().replace('width = "60 mm" ', 'width = "40 mm" '))
    found = told(small, "prepare")
    assert found["data"]["refused"] == ["cell", "sheet"]
    says = {step["command"]: step["says"] for step in found["data"]["steps"]}
    assert "the plate is 50.0 mm" in says["farface cell"]
    assert "Weigh" in says["farface recipe"]


def test_the_recipe_rests_on_what_was_measured(bench: Bench) -> None:
    found = told(bench, "recipe", "--length", "1 mm", "--volume", "100 mL", "--salt", "anhydrous")
    # bath.toml has 10.2 /cm measured at 1 mol/L: 10 /cm need (10 - 0.144) / (10.2 - 0.144) mol/L.
    copper = found["data"]["recipe"]["wanted"]["copper_mol_per_m3"]
    assert copper == pytest.approx(1e3 * (10.0 - 0.144) / (10.2 - 0.144), rel=1e-6)
    assert found["data"]["absorption_length_m"]["value"] == pytest.approx(1e-3, rel=1e-9)
    assert found["data"]["recipe"]["salt_kg"] == pytest.approx(copper * 1e-4 * 0.159602, rel=1e-9)


def test_a_reading_stands_above_the_file(bench: Bench) -> None:
    found = told(bench, "recipe", "--reading", "30 %", "--path", "1 mm")
    assert found["data"]["read_absorption_per_m"]["value"] == pytest.approx(
        14.4 - 1e3 * np.log(0.3), rel=1e-6
    )
    assert "The reading says instead" in " ".join(found["sentences"])


def test_a_cold_room_leaves_viscosity_unknown_and_says_why(bench: Bench) -> None:
    found = told(bench, "recipe", "--room", "18", "--molarity", "1 mol/L")
    assert found["data"]["viscosity_pa_s"] is None
    assert found["data"]["recipe"]["density_kg_per_m3"] == pytest.approx(1178.0, abs=2.0)


@pytest.mark.parametrize(
    ("options", "fault", "words"),
    [
        (["--molarity", "1.5 mol/L"], OutOfRange, "dissolves 1.27 mol/L"),
        (["--strength", "110 %"], OutOfRange, "at most 100 %"),
        (["--salt", "table"], Malformed, "no form of the salt"),
        (["--length", "1 mm", "--molarity", "1 mol/L"], Malformed, "Give one"),
        (["--reading", "30 %"], Malformed, "the path through the bath"),
        (["--reading", "30 %", "--path", "0 mm"], OutOfRange, "path above 0"),
        (["--volume", "5 kg"], Malformed, "mL"),
    ],
)
def test_a_recipe_that_cannot_be_is_refused(bench: Bench, options: list[str], fault, words: str) -> None:
    error = refused(bench, "recipe", *options)
    assert isinstance(error, fault)
    assert words in str(error)


def test_two_plates_in_one_cell_are_told_with_their_seats(bench: Bench) -> None:
    assert "sags between the rails" in " ".join(told(bench, "cell", "--also", "0.16 mm")["sentences"])
    assert "sags" not in " ".join(told(bench, "cell")["sentences"])
    found = told(bench, "cell", "--also", "0.16 mm", "--camera", "100 mm")["data"]
    (thin,) = found["others"]
    assert thin["seat_m"] - found["seat_m"] == pytest.approx(1.1e-3 - 0.16e-3, abs=1e-12)
    assert thin["fill"]["level_m"] - found["fill"]["level_m"] == pytest.approx(0.94e-3, abs=1e-12)
    assert 0.0 < found["camera_stand_m"] < 0.1
    drawing = (bench.drawings / "cell.svg").read_text()
    assert "12.94 mm" in drawing
    assert "invented data" in drawing
    assert "Invented data" in (bench.drawings / "cell-panels.svg").read_text()


def test_a_bath_too_small_for_the_cell_is_told(tmp_path: Path) -> None:
    small = demo_bench(tmp_path / "bench")
    small.bath.write_text(small.bath.read_text().replace('volume = "50 mL"', 'volume = "30 mL"'))
    assert "bath.toml has only 30 mL" in " ".join(told(small, "cell")["sentences"])
    assert "bath.toml has only" not in " ".join(told(demo_bench(tmp_path / "other"), "cell")["sentences"])


def test_a_camera_lens_that_cannot_reach_is_refused(bench: Bench) -> None:
    assert "working distance" in str(refused(bench, "cell", "--camera", "20 mm"))


def test_a_lens_that_cannot_reach_is_refused(bench: Bench) -> None:
    assert "its slide goes down by 500.0 um" in str(refused(bench, "focus", "--travel", "0.5 mm"))
    assert "must stay free" in str(refused(bench, "focus", "--working-distance", "50 mm"))


def test_a_ladder_is_laid_out_filled_in_and_read(bench: Bench) -> None:
    found = told(bench, "focus", "--ladder", "F1", "--energy", "100 uJ")
    (table,) = [Path(name) for name in found["files"] if name.endswith(".csv")]
    header, *rows = table.read_text().splitlines()
    names = header.split(",")
    offset, seen = names.index("focus_offset_um"), names.index("seen")
    filled = [header]
    for row in rows:
        cells = row.split(",")
        # The true focus stands too high: marks appear where the nominal one lies 0 to 450 um deeper.
        height_um = float(cells[offset] or 0.0)
        cells[seen] = "frosted" if 0.0 <= height_um <= 450.0 else "nothing"
        filled.append(",".join(cells))
    path = bench.coupons / "F1-filled.csv"
    path.write_text("\n".join(filled) + "\n")
    read = told(bench, "focus", "--read", str(path))
    assert read["data"]["ladder"]["rungs"] == 9
    assert read["data"]["ladder"]["middle_m"]["value"] > 0.0
    assert "lower the lens by" in read["sentences"][-1]


# --- measured tables ----------------------------------------------------------------------------


def table(bench: Bench, name: str, header: str, rows: list[tuple[float, float]]) -> str:
    path = bench.folder / name
    path.write_text("\n".join([header, *(f"{a:.6g},{b:.6g}" for a, b in rows)]) + "\n")
    return str(path)


@pytest.mark.exact
def test_marks_blade_caustic_and_meter_are_known_by_their_columns(bench: Bench) -> None:
    marks = table(bench, "marks.csv", "pulse_energy_uJ,diameter_um",
                  [(30, 19.281), (50, 27.936), (100, 36.537), (200, 43.468)])  # fmt: skip
    fit = told(bench, "spot", marks)["data"]["fit"]
    assert fit["radius_m"] == pytest.approx(20e-6, rel=1e-4)
    blade = [(x, 1e3 * passed_share(x * 1e-6, middle_m=5e-6, radius_m=20e-6)) for x in range(-50, 61, 5)]
    fit = told(bench, "spot", table(bench, "blade.csv", "position_um,power_mW", blade))["data"]["fit"]
    assert fit["radius_m"] == pytest.approx(20e-6, rel=1e-3)
    rows = [(z, 20.0 * np.hypot(1.0, z / 0.9085)) for z in np.linspace(-3.0, 3.0, 13)]
    fit = told(bench, "spot", table(bench, "caustic.csv", "height_mm,radius_um", rows))["data"]["fit"]
    assert fit["m2"] == pytest.approx(1.3, rel=1e-3)
    meter = table(bench, "meter.csv", "rate_kHz,power_W", [(30, 27.0), (60, 27.0)])
    found = told(bench, "spot", meter)["data"]
    assert found["energies_j"] == pytest.approx([0.9e-3, 0.45e-3])
    assert kinds(bench)[-1] == "measured"


@pytest.mark.parametrize(
    ("header", "rows", "fault", "words"),
    [
        ("apples,pears", [(1, 2)], Malformed, "none of the pairs of columns"),
        ("pulse_energy_uJ,diameter_um", [(1, 2), (2, -3)], Malformed, "row 3, diameter_um"),
        ("pulse_energy_uJ,diameter_um", [(1, 2), (2, 3)], Malformed, "liu1982"),
        ("height_mm,radius_um", [(5, 30), (6, 36), (7, 43), (8, 50)], NotConverged, "both sides"),
        ("rate_kHz,power_W", [(30, 60)], OutOfRange, "rates the laser for 30.0 W"),
    ],
)
def test_a_table_that_tells_nothing_is_refused(bench: Bench, header: str, rows, fault, words: str) -> None:
    error = refused(bench, "spot", table(bench, "bad.csv", header, rows))
    assert isinstance(error, fault)
    assert words in str(error)


def test_a_table_that_is_not_there_is_named(bench: Bench) -> None:
    assert isinstance(refused(bench, "spot", "nowhere.csv"), Missing)


# --- hazards, sheets, ticks, gate ---------------------------------------------------------------


def test_hazards_are_estimates_with_their_inputs(bench: Bench) -> None:
    done = CliRunner().invoke(app, ["hazards", "--bench", str(bench.folder), "--energy", "300 uJ"])
    text = " ".join(done.stdout.split())
    for words in (
        "estimate, not a clearance",
        "Directive 2006/25/EC",
        "1064 nm",
        "300 uJ",
        "quoted from memory",
    ):
        assert words in text
    found = told(bench, "hazards", "--energy", "300 uJ")["data"]
    assert found["estimates"]["single_legal"]["limit_j_per_m2"] == pytest.approx(0.05)
    assert 4.0 < found["needed_optical_density"] < 5.0


def test_eyewear_of_density_zero_is_refused(bench: Bench) -> None:
    error = refused(bench, "hazards", "--eyewear", "0")
    assert isinstance(error, Refused)
    assert "Directive 2006/25/EC" in str(error)
    assert "no clearance" in " ".join(told(bench, "hazards", "--eyewear", "7")["sentences"])


def test_chemicals_are_told_with_first_aid_and_waste(bench: Bench) -> None:
    found = told(bench, "chemicals")
    text = json.dumps(found)
    for words in (
        "Causes serious eye damage",
        "etched-glass needles",
        "sulfur dioxide",
        "first aid",
        "never to the drain",
        "data sheet",
    ):
        assert words in text


def test_a_part_is_cleared_only_once_every_hazard_is_answered(tmp_path: Path) -> None:
    places = demo_bench(tmp_path / "bench")
    drawing = tmp_path / "window.svg"
    drawing.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="20mm" height="20mm" viewBox="0 0 20 20"><rect '
        'id="window" x="9.8" y="9.8" width="0.4" height="0.4" data-depth-um="10"/></svg>'
    )
    asked = ["part", str(drawing), "--confirm", "A. Tester", "--risk", "1",
             "--energy", "130 uJ", "--rate", "40 kHz", "--pulses", "20", "--pitch", "18 um"]  # fmt: skip
    error = refused(places, *asked)
    assert isinstance(error, Refused)
    assert "18 hazard items are unanswered" in str(error)
    assert '"eyewear"' in str(error)
    told(places, "tick", "set-up", "--all", "--initials", "AT")
    told(places, "tick", "set-up", "--withdraw", "eyewear", "--initials", "AT")
    assert '1 hazard item is unanswered: "eyewear"' in str(refused(places, *asked))
    told(places, "tick", "set-up", "eyewear", "--initials", "AT")
    cleared = told(places, *asked)["data"]["cleared"]
    assert cleared["person"] == "A. Tester"
    assert {answer["initials"] for answer in cleared["answers"]} == {"AT"}


def test_a_depth_is_read_by_focus_or_by_weight(bench: Bench) -> None:
    """0.4 through the plate's 1.462: 1.462 to 1.533, their middle 1.497."""
    seen = ("--travel", "31 um", "--travel", "33 um", "--through", "glass", "--aperture", "0.4")
    found = told(bench, "depth", *seen)
    assert found["data"]["depth_m"]["value"] == pytest.approx(32e-6 * 1.4975, rel=1e-3)
    assert "depth_method focus_travel" in found["sentences"][0]
    weighed = told(bench, "depth", "--loss", "1.8 mg", "--area", "81 mm2")
    assert weighed["data"]["depth_m"]["value"] == pytest.approx(1.8e-6 / (2230.0 * 81e-6), rel=1e-6)
    assert weighed["data"]["method"] == "weight_loss"


def test_a_reading_against_an_empty_cuvette_is_told_from_one_against_water(bench: Bench) -> None:
    """Reflections that water takes away make the same share mean more absorption against an empty cuvette."""
    shares = {
        against: told(bench, "recipe", "--reading", "30 %", "--path", "1 mm", "--against", against)
        for against in ("water", "empty")
    }
    wet, dry = (shares[a]["data"]["read_absorption_per_m"]["value"] for a in ("water", "empty"))
    # (0.966 / 0.998)^2 of the light is lost at the empty cuvette's inner walls, and water absorbs a little.
    assert dry - wet == pytest.approx(50.0, abs=1.5)
