"""The window page: its maps are those of the model, and mouse, keys and slider read and pick them."""

import json
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from starlette.testclient import TestClient

from browser import picture
from farface.app.axis import axis_of, shown_values
from farface.app.draws import current_draws
from farface.app.settings import Typed, setting_of
from farface.app.window_page import slide_of
from farface.app.window_stack import ROUGH_DRAWS, StackOrder, stack_axes, stack_layers, window_stack
from farface.app.workbench import open_workbench
from farface.etch.axes import AXES, Case
from farface.etch.window import window
from farface.web.guard import Lock
from farface.web.serve import create_app

OURS = "http://127.0.0.1:8123"
# float32 keeps 7 digits.
SINGLE = 1e-6


@pytest.fixture
def client(bench_folder: Path) -> TestClient:
    return TestClient(create_app(bench_folder, lock=Lock.at(8123)), base_url=OURS)


@pytest.mark.exact
def test_the_maps_are_those_of_the_model(client: TestClient, bench_folder: Path) -> None:
    answer = client.get("/window/stack", params={"x": "energy=100 uJ..500 uJ", "y": "pulses=2..6"})
    shape = json.loads(answer.headers["x-shape"])
    values = np.frombuffer(answer.content, dtype=np.float32).reshape(shape)
    layers = stack_layers()
    with open_workbench(bench_folder) as work:
        setting = setting_of(work.rig, Typed())
        x, y = (axis_of(work.rig, setting, t, points=21) for t in ("energy=100 uJ..500 uJ", "pulses=2..6"))
        draws = current_draws(work, work.etch()).values
        chosen = np.linspace(0, len(draws) - 1, ROUGH_DRAWS).round().astype(int)
        found = window(work.etch(), setting, draws[chosen], x=x, y=y)
    assert shape == [len(layers), 1, 5, 21]
    np.testing.assert_allclose(values[:6, 0], np.moveaxis(found.odds, 2, 0), rtol=SINGLE, atol=SINGLE)
    np.testing.assert_allclose(values[layers.index("depth-high"), 0], found.depth_high_m, rtol=SINGLE)
    np.testing.assert_allclose(values[layers.index("margin-low"), 0], found.margin_low, rtol=SINGLE)


def test_a_stack_is_computed_once_and_anew_when_the_bench_changes(bench_folder: Path) -> None:
    order = StackOrder(x="energy", y="pitch")
    with open_workbench(bench_folder) as work:
        first = window_stack(work, Typed(), order)
        assert window_stack(work, Typed(), order) is first
    text = (bench_folder / "bath.toml").read_text()
    (bench_folder / "bath.toml").write_text(text.replace('age = "1 h"', 'age = "2 h"'))
    with open_workbench(bench_folder) as work:
        again = window_stack(work, Typed(), order)
    assert again is not first and again.basis != first.basis


def test_what_the_laser_cannot_give_is_marked(bench_folder: Path) -> None:
    with open_workbench(bench_folder) as work:
        stack = window_stack(work, Typed(), StackOrder(x="energy", y="rate", slide="pulses"))
    reach = stack.values[stack_layers().index("reach"), 0]
    assert reach[0].all()  # at 20 kHz the laser gives a whole millijoule
    assert reach[-1, 0] == 1.0 and reach[-1, -1] == 0.0  # at 100 kHz 0.3 mJ at most


def test_a_map_over_one_setting_twice_is_refused_with_a_sentence(client: TestClient) -> None:
    answer = client.get("/window/stack", params={"x": "energy", "y": "energy"})
    assert answer.status_code == 422
    assert "Choose three different ones" in answer.text


@pytest.mark.parametrize(
    ("x", "y", "slide", "taken"),
    [
        ("energy", "pulses", "rate", "rate"),
        ("rate", "pulses", "rate", "energy"),
        ("energy=1 uJ..2 uJ", "rate", "rate", "pulses"),
    ],
)
def test_the_slider_takes_a_setting_that_is_free(x: str, y: str, slide: str, taken: str) -> None:
    assert slide_of(StackOrder(x=x, y=y, slide=slide)) == taken


def test_the_twin_of_the_cell_tells_the_chain_of_the_picked_setting(client: TestClient) -> None:
    told = client.get("/window/cell.json", params={"energy": "300 uJ", "pulses": "4"}).json()
    assert told["data"]["texts"]["energy"] == "300 uJ"
    assert told["data"]["explanation"]["setting"]["pulses_per_point"] == 4
    assert [row[3] for row in told["tables"][2]["rows"]] == [
        "zimmer2007",
        "zimmer2007",
        "vass2013",
        "hopp2007",
    ]


@pytest.mark.browser
def test_keys_read_and_pick_a_setting_and_the_address_keeps_it(address: str, open_page: Callable) -> None:
    page = open_page(f"{address}/window?energy=300+uJ&pulses=4")
    page.locator("#maps[data-ready]").wait_for(timeout=60_000)
    assert page.get_by_text("not calibrated: prior only").first.is_visible()
    canvas = page.get_by_role("application")
    canvas.focus()
    readout = page.locator("#readout")
    before = readout.inner_text()
    assert "pulse energy" in before and "margin from runaway" in before
    canvas.press("ArrowUp")
    canvas.press("Shift+ArrowRight")
    assert readout.inner_text() != before
    canvas.press("Enter")
    page.get_by_role("heading", name="5 pulses a point").wait_for()
    assert "pulses=5" in page.url
    page.get_by_role("img", name="Strip:").first.wait_for()
    assert page.get_by_label("Pulses per point", exact=True).input_value() == "5"
    page.get_by_label("Show").select_option("margin")
    picture(page, "window-prior")
    page.reload()
    page.get_by_role("heading", name="5 pulses a point").wait_for()
    assert page.get_by_label("Show").input_value() == "margin"


@pytest.mark.browser
def test_the_slider_redraws_the_map_without_asking_the_server(address: str, open_page: Callable) -> None:
    page = open_page(f"{address}/window")
    page.locator("#maps[data-ready]").wait_for(timeout=60_000)
    asked: list[str] = []
    page.on("request", lambda sent: asked.append(sent.url))
    pixels = "document.querySelector('farface-map canvas').toDataURL()"
    before = page.evaluate(pixels)
    page.evaluate("document.getElementById('slider').value = 90; slider.dispatchEvent(new Event('input'))")
    page.wait_for_timeout(100)
    assert page.evaluate(pixels) != before
    assert asked == []


def test_the_present_place_on_every_axis_is_that_of_the_model(bench_folder: Path) -> None:
    typed = Typed(energy="300 uJ", pulses=4, pitch="12 um")
    with open_workbench(bench_folder) as work:
        case = Case(bench=work.etch(), setting=setting_of(work.rig, typed), draws=np.empty((0, 0)))
        for x in AXES.values():
            y, slide = [name for name in AXES if name != x.name][:2]
            told = stack_axes(work, typed, StackOrder(x=x.name, y=y, slide=slide))["x"]
            assert told["now"] == pytest.approx(shown_values(x, [x.read(case)])[0])
