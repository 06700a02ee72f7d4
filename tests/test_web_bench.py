"""The page of the bench and the frame that all pages share."""

import hashlib
import html
import tomllib
from collections.abc import Callable
from importlib.resources import files
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from browser import picture
from farface.web.guard import Lock
from farface.web.serve import create_app

VENDOR = files("farface.web").joinpath("static", "vendor")


@pytest.fixture
def client(bench_folder: Path) -> TestClient:
    return TestClient(create_app(bench_folder, lock=Lock.at(8123)), base_url="http://127.0.0.1:8123")


def test_a_new_bench_says_what_to_do_first(client: TestClient) -> None:
    told = client.get("/bench.json").json()
    assert told["data"]["next"] == "rig"
    assert html.escape(told["sentences"][0]).replace("&#x27;", "&#39;") in client.get("/").text
    assert [stage["state"] for stage in told["data"]["stages"]] == ["open"] * 9


def test_a_bench_without_a_readable_rig_still_opens(client: TestClient, bench_folder: Path) -> None:
    client.get("/")  # the journal is there now
    (bench_folder / "rig.toml").write_text("[rig]\n")
    told = client.get("/bench.json").json()
    assert "rig.toml" in told["data"]["warnings"][0]
    answer = client.get("/rig")
    assert answer.status_code in (200, 404, 422)
    assert "rig.toml" in answer.text


def test_looking_records_nothing(client: TestClient) -> None:
    for path in ("/", "/rig", "/rig.json", "/section"):
        assert client.get(path).status_code == 200
    assert client.get("/bench.json").json()["data"]["recent"] == []


def test_every_vendored_file_is_the_published_one() -> None:
    listed = tomllib.loads(VENDOR.joinpath("LIST.toml").read_text("utf-8"))
    named = {entry[key] for entry in listed.values() for key in ("file", "licence_file")} | {"LIST.toml"}
    assert {path.name for path in VENDOR.iterdir()} == named
    for entry in listed.values():
        found = hashlib.sha256(VENDOR.joinpath(entry["file"]).read_bytes()).hexdigest()
        assert found == entry["sha256"], entry["file"]


@pytest.mark.browser
def test_the_bench_shows_its_section_and_leads_on(address: str, open_page: Callable) -> None:
    page = open_page(address)
    page.get_by_role("img", name="Section:").first.wait_for()
    assert page.get_by_role("navigation", name="Pages").get_by_role("link", name="Bench").is_visible()
    assert page.get_by_role("link", name="Check the rig's numbers").is_visible()
    picture(page, "bench-new")
    page.get_by_role("link", name="Check the rig's numbers").click()
    assert page.get_by_role("heading", level=1).inner_text().startswith("Rig")
