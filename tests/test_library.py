"""The public surface: small, typed, lazy, and the same numbers as the use cases."""

import json
import subprocess
import sys
from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest

import farface
from checks.tree import ROOT
from demo_bench import demo_bench
from farface.app.settings import Typed
from farface.app.window import map_window
from farface.app.workbench import open_workbench
from farface.kernel import Missing, OutOfRange
from farface.records import SEEN

DEMO = Path(str(files("farface.app") / "demo_files"))
NOTEBOOKS = sorted((ROOT / "docs" / "notebooks").glob("*.ipynb"))


@pytest.fixture(scope="module")
def model() -> farface.Model:
    return farface.Model.start(farface.read_rig(DEMO / "rig.toml"), farface.read_bath(DEMO / "bath.toml"))


def test_every_public_name_is_there_and_documented() -> None:
    for name in farface.__all__:
        found = getattr(farface, name)
        assert name in dir(farface)
        assert isinstance(found, str) or found.__doc__
    with pytest.raises(AttributeError, match="no attribute 'nonsense'"):
        _ = farface.nonsense
    page = (ROOT / "docs" / "library.md").read_text("utf-8")
    assert [name for name in farface.__all__ if f"`{name}`" not in page] == []


def test_importing_costs_next_to_nothing() -> None:
    code = "import sys, farface; print(*(n for n in sys.modules if n.split('.')[0] in ('numpy', 'farface')))"
    loaded = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout
    assert loaded.split() == ["farface"]


def test_the_window_is_that_of_the_command(model: farface.Model, tmp_path: Path) -> None:
    places = demo_bench(tmp_path / "bench")
    limits = {"x": "energy=100 uJ..600 uJ", "y": "pulses=2..5"}
    with open_workbench(places.folder) as work:
        told = map_window(work, Typed(rate="40 kHz"), prior=True, **limits).data
    ours = model.window(farface.setting(model.rig, rate="40 kHz"), **limits)
    assert np.array_equal(ours.odds, np.array(told["odds"]))


def test_cells_seen_raise_the_odds_of_the_same(model: farface.Model, tmp_path: Path) -> None:
    around = farface.setting(model.rig, energy="150 uJ", rate="40 kHz", pulses=4, pitch="18 um", passes=10)
    told = model.explain(around).odds
    seen = sorted(told, key=lambda one: told[one])[-2]
    table = tmp_path / "P1.csv"
    table.write_text(
        "plate,cell,order,pulse_energy_uJ,rate_kHz,pulses_per_point,pitch_um,passes,seen,depth_um,depth_sd_um,"
        "depth_method,whole_after_pass,through_by_pass,sheet_um,note\n"
        + "".join(f"P1,A{k},{k},150,40,4,18,10,{seen},,,,,,,\n" for k in (1, 2, 3))
    )
    fitted = model.learn(farface.read_outcomes(table), steps=50)
    assert (model.calibrated, fitted.calibrated) == (False, True)
    assert fitted.draws.shape == model.draws.shape
    assert fitted.explain(around).odds[seen] > told[seen]
    with pytest.raises(Missing, match="nothing to learn from"):
        model.learn()


def test_next_and_part_hold_to_what_is_accepted(model: farface.Model) -> None:
    base = farface.setting(model.rig, rate="40 kHz", pitch="18 um")
    tried = farface.factorial(
        base, {"pulse_energy_j": [100e-6, 200e-6, 400e-6], "pulses_per_point": [4.0, 8.0]}
    )
    cells = model.next_cells(tried, count=2, accepted_risk=0.2, depth_m=50e-6)
    assert 0 < len(cells) <= 2
    assert all(cell.prediction.failure_risk <= 0.2 for cell in cells)
    drawing = farface.read_drawing(DEMO / "chamber.svg")
    strong = farface.setting(model.rig, energy="500 uJ", rate="40 kHz", pulses=4, pitch="18 um")
    part = model.plan(drawing, strong, depth_m=100e-6)
    assert part.plan.passes
    assert part.depth.low_share < 1.0 < part.depth.high_share
    with pytest.raises(OutOfRange):
        farface.setting(model.rig, rate="1 Hz")


def test_the_odds_of_a_window_name_every_outcome(model: farface.Model) -> None:
    found = model.window(farface.setting(model.rig), points=3)
    assert found.odds.shape[-1] == len(SEEN)
    assert found.odds.sum(axis=-1) == pytest.approx(1.0)


@pytest.mark.parametrize("notebook", NOTEBOOKS, ids=lambda path: path.stem)
def test_notebooks_are_kept_without_results(notebook: Path) -> None:
    cells = json.loads(notebook.read_text("utf-8"))["cells"]
    assert all(not cell.get("outputs") and cell.get("execution_count") is None for cell in cells)
    assert "invented" in "".join(cells[0]["source"]).lower()


@pytest.mark.slow
@pytest.mark.parametrize("notebook", NOTEBOOKS, ids=lambda path: path.stem)
def test_notebooks_run(notebook: Path) -> None:
    import nbformat
    from nbclient import NotebookClient

    book = nbformat.read(notebook, as_version=4)
    NotebookClient(book, timeout=600, kernel_name="python3").execute()
    assert len(NOTEBOOKS) == 3
