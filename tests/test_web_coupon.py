"""The page of coupons: preview, laying out, and the bench sheet on paper."""

import html
from collections.abc import Callable
from pathlib import Path

import pytest
from pypdf import PdfReader
from starlette.testclient import TestClient

from browser import picture
from farface.web.guard import Lock
from farface.web.serve import create_app

ORDER = {
    "name": "P7", "x": "energy", "x_low": "100 uJ", "x_high": "400 uJ", "y": "pulses", "y_low": "2",
    "y_high": "6", "levels": "3", "repeats": "2", "rate": "40 kHz",
}  # fmt: skip


@pytest.fixture
def client(bench_folder: Path) -> TestClient:
    client = TestClient(
        create_app(bench_folder, lock=Lock.at(8123)), base_url="http://127.0.0.1:8123",
        follow_redirects=False,
    )  # fmt: skip
    client.get("/look.css")
    return client


def test_looking_writes_nothing(client: TestClient, bench_folder: Path) -> None:
    told = client.get("/coupon.json", params=ORDER).json()
    assert len(told["data"]["coupon"]["cells"]) == 18
    assert {cell["setting"]["rate_hz"] for cell in told["data"]["coupon"]["cells"]} == {40e3}
    assert client.get("/bench.json").json()["data"]["recent"] == []
    assert list((bench_folder / "coupons").iterdir()) == []


def test_what_is_laid_out_is_what_was_shown(client: TestClient, bench_folder: Path) -> None:
    shown = client.get("/coupon.json", params=ORDER).json()["data"]["coupon"]
    sent = client.post("/coupon", data=ORDER)
    assert sent.status_code == 303 and sent.headers["location"].startswith("/coupon/P7")
    assert client.get("/coupon/P7.json").json()["data"]["coupon"] == shown
    assert {path.name for path in (bench_folder / "coupons").iterdir()} == {
        "P7.csv", "P7.svg", "P7.dxf", "P7-sheet.html",
    }  # fmt: skip
    assert client.get("/coupon/P7/table.csv").content == (bench_folder / "coupons" / "P7.csv").read_bytes()


@pytest.mark.parametrize(
    ("slip", "says"),
    [
        ({"x_high": ""}, "one end only"), ({"x_low": "100 kHz"}, "unit"), ({"levels": "99"}, "2 to 20"),
        ({"name": "../P7"}, "cannot name"), ({"name": ""}, "no name"), ({"rate": "1 GHz"}, "unit"),
        ({"pulses": "some"}, "whole number"),
    ],
)  # fmt: skip
def test_a_slip_keeps_what_was_typed(client: TestClient, slip: dict[str, str], says: str) -> None:
    sent = client.post("/coupon", data=ORDER | slip)
    assert sent.status_code == 422
    assert html.escape(says) in sent.text
    typed = {key: value for key, value in (ORDER | slip).items() if value and key not in ("x", "y")}
    assert all(f'name="{key}" type="text" value="{value}"' in sent.text for key, value in typed.items())
    assert client.get("/bench.json").json()["data"]["recent"] == []


def test_a_coupon_that_is_not_there_is_not_found(client: TestClient) -> None:
    for end in ("", ".json", "/sheet", "/drawing.svg", "/table.csv"):
        assert client.get(f"/coupon/nowhere{end}").status_code == 404


@pytest.mark.browser
def test_a_person_lays_a_coupon_out(address: str, open_page: Callable) -> None:
    page = open_page(f"{address}/coupon")
    page.get_by_role("group", name="Vary").get_by_label("from").fill("100 uJ")
    page.get_by_role("group", name="Vary").get_by_label("to").fill("400 uJ")
    page.get_by_label("Levels of each").fill("4")
    page.get_by_label("Levels of each").press("Tab")
    page.get_by_role("img", name="Plate: 16 cells").first.wait_for()
    assert "levels=4" in page.url
    picture(page, "coupon-light")
    page.get_by_label("Name of the plate").fill("P2")
    page.get_by_role("button", name="Lay the plate out").click()
    page.get_by_role("heading", name="Coupon P2").wait_for()
    told = page.request.get(f"{address}/coupon/P2.json").json()["data"]
    page.get_by_text("The 16 cells in the order").click()
    first = min(told["coupon"]["cells"], key=lambda cell: cell["order"])
    row = page.get_by_role("row").nth(1).inner_text().split()
    assert row[:2] == ["1", first["label"]]
    assert float(row[2]) == pytest.approx(first["setting"]["pulse_energy_j"] * 1e6, rel=5e-3)
    assert page.get_by_role("link", name="Type in outcomes").get_attribute("href").endswith("plate=P2")


@pytest.mark.browser
@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_bench_sheet_prints_on_one_leaf(
    address: str, open_page: Callable, tmp_path: Path, paper: str
) -> None:
    page = open_page(f"{address}/coupon")
    page.get_by_label("Name of the plate").fill("P3")
    page.get_by_role("button", name="Lay the plate out").click()
    page.get_by_role("heading", name="Coupon P3").wait_for()
    page.goto(f"{address}/coupon/P3/sheet")
    page.emulate_media(media="print")
    printed = tmp_path / "sheet.pdf"
    page.pdf(path=printed, format=paper)
    read = PdfReader(printed)
    text = "".join(one.extract_text() for one in read.pages)
    # One leaf: what to prepare on its front, all cells on its back.
    assert len(read.pages) == 2
    back = read.pages[1].extract_text()
    assert all(f"{letter}{number}" in back for letter in "ABCDEF" for number in range(1, 7))
    assert "Cautions" in read.pages[0].extract_text() and "Cautions" not in back
    assert all(word in text for word in ("Bench sheet: coupon P3", "Cautions", "invented data"))
    assert all(f"{letter}{number}" in text for letter in "ABCDEF" for number in range(1, 7))
