"""The page of safety: what it estimates, eyewear held to it, sheets printed and ticked."""

import math
from collections.abc import Callable
from pathlib import Path
from xml.etree import ElementTree

import pytest
from pypdf import PdfReader
from starlette.testclient import TestClient

from browser import picture
from farface.report.hazard_ways import ROOM_M, Way, ways_caption, ways_svg
from farface.safety.hazard_items import items_of
from farface.web.guard import Lock
from farface.web.serve import create_app

HAZARDS = [item.key for item in items_of("set-up") if item.hazard]


@pytest.fixture
def client(bench_folder: Path) -> TestClient:
    client = TestClient(create_app(bench_folder, lock=Lock.at(8123)), base_url="http://127.0.0.1:8123")
    client.get("/look.css")
    return client


def recent(client: TestClient) -> list[str]:
    return [one["kind"] for one in client.get("/bench.json").json()["data"]["recent"]]


def test_looking_records_nothing_and_keeping_does(client: TestClient, bench_folder: Path) -> None:
    client.get("/safety")
    assert recent(client) == []
    assert not list((bench_folder / "runs").rglob("*.*"))
    client.post("/safety/record")
    assert recent(client) == ["chemicals", "hazards"]


def test_more_energy_needs_denser_eyewear_by_its_logarithm(client: TestClient) -> None:
    low, high = (
        client.get("/safety.json", params={"energy": energy}).json()["data"]["needed_optical_density"]
        for energy in ("30 uJ", "300 uJ")
    )
    # Exposure goes with energy; the train's limit may tighten too, so a decade costs at least one.
    assert high - low >= 1.0 - 1e-9


@pytest.mark.parametrize(
    ("eyewear", "says"), [("2", "Do not fire"), ("x", "no number"), ("99", "labels say")]
)
def test_eyewear_that_falls_short_is_said_so(client: TestClient, eyewear: str, says: str) -> None:
    told = client.get("/safety.json", params={"eyewear": eyewear}).json()["data"]
    assert says in told["short"] and told["eyewear"] == eyewear
    assert client.get("/safety.json", params={"eyewear": "9"}).json()["data"]["short"] == ""


def test_ticks_stand_until_they_are_taken_back(client: TestClient) -> None:
    path = "/safety/sheets/set-up/ticks"
    assert "initials" in client.post(path, data={"tick-officer": "on"}).text
    assert client.post(path, data={"tick-nothing": "on", "initials": "AB"}).status_code == 422
    every = {f"tick-{key}": "on" for key in HAZARDS if key != "acid"}
    client.post(path, data=every | {"initials": "AB", "reason-acid": "no acid in this bath"})
    told = client.get("/safety.json").json()["data"]
    assert told["open"].startswith("Every hazard item is answered")
    stood = {f"stood-{key}": "1" for key in HAZARDS}
    rest = {key: value for key, value in every.items() if key != "tick-eyewear"}
    client.post(path, data=rest | stood | {"initials": "AB", "reason-acid": "no acid in this bath"})
    assert "eyewear" in client.get("/safety.json").json()["data"]["open"]


def test_sheets_are_served_by_their_name_only(client: TestClient) -> None:
    assert client.get("/safety/sheets/run").status_code == 404
    client.post("/safety/sheets")
    assert "Run sheet" in client.get("/safety/sheets/run").text
    for name in ("../report", "report", "rig.toml"):
        assert client.get(f"/safety/sheets/{name}").status_code in (404, 422)


def test_distances_are_drawn_to_their_logarithm() -> None:
    ways = (
        Way(name="near", distance_m=0.5),
        Way(name="far", distance_m=500.0),
        Way(name="own", distance_m=5.1),
    )
    root = ElementTree.fromstring(ways_svg(ways, title="Ways", invented=True))
    bars = [
        float(bar.attrib["width"])
        for way in root.iter("{http://www.w3.org/2000/svg}g") if way.attrib.get("class") == "ff-way"
        for bar in way.findall("{http://www.w3.org/2000/svg}rect")
    ]  # fmt: skip
    assert bars[1] / bars[0] == pytest.approx(math.log(500 / 0.1) / math.log(0.5 / 0.1), rel=1e-3)
    assert ways_caption(ways).startswith("By estimate 2 of 3")
    assert f"{ROOM_M:g} m" in ways_caption(ways[:1])


@pytest.mark.browser
def test_a_person_reads_the_estimates_and_ticks_the_sheet(address: str, open_page: Callable) -> None:
    page = open_page(f"{address}/safety")
    told = page.request.get(f"{address}/safety.json").json()["data"]
    assert page.get_by_text(f"{told['needed_optical_density']:.1f}", exact=True).is_visible()
    for way in told["estimates"]["ways"]:
        assert page.get_by_role("img", name="Distances").first.get_by_text(way["name"]).is_visible()
    page.get_by_label("Optical density on your eyewear's label").fill("1")
    page.get_by_role("button", name="Hold it to the estimate").click()
    page.get_by_text("Do not fire").wait_for()
    picture(page, "safety-light")
    page.get_by_text("Ticks of the set-up sheet").click()
    form = page.get_by_role("form", name="Ticks of the set-up sheet")
    for box in form.get_by_role("checkbox").all():
        box.check()
    form.get_by_label("Initials of who ticked them").fill("AB")
    form.get_by_role("button", name="Record these ticks").click()
    page.get_by_text("Every hazard item is answered").wait_for()


@pytest.mark.browser
@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_every_sheet_prints_on_one_page(
    address: str, open_page: Callable, tmp_path: Path, paper: str
) -> None:
    page = open_page(f"{address}/safety")
    page.get_by_role("button", name="Write the sheets").click()
    page.get_by_role("link", name="Run sheet to print").wait_for()
    for name in ("set-up", "run", "clean-up"):
        page.goto(f"{address}/safety/sheets/{name}")
        page.emulate_media(media="print")
        printed = tmp_path / f"{name}.pdf"
        page.pdf(path=printed, format=paper)
        assert len(PdfReader(printed).pages) == 1
